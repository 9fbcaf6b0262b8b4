package main

import (
	"fmt"
	"math"
	"strings"

	"hilrig/suites"
	"hilrig/suites/language"
)

// barWidth is how many marks fit on each side of a bar's middle.
const barWidth = 10

// printPlayed writes what a hold by hand showed, a line per motor.
func printPlayed(s *screen, h *suites.Hold, p *suites.Played) {
	fmt.Fprintf(s, "held      speed %s, steer %s, throttle %s, gain %s\n", language.Speed.Format(h.Speed),
		language.Angle.Format(h.Steer), language.Share.Format(h.Throttle), language.Share.Format(h.Gain))
	fmt.Fprintf(s, "yaw rate  %s, demand %s, error %s: %s%s\n\n", language.AngularRate.Format(p.YawRate),
		language.AngularRate.Format(p.Demand), language.AngularRate.Format(p.Demand-p.YawRate),
		strings.ReplaceAll(p.Branch, "_", " "), turning(p.Turn))
	mark := markFor(p)
	fmt.Fprintf(s, "motor        in the turn    baseline   command             shift   one # is %s\n", language.Share.Format(mark))
	for i := range p.Motors {
		printMotor(s, &p.Motors[i], mark)
	}
	printPlayedEnd(s, p)
}

// printPlayedEnd says what the hold does not show; nothing where it shows all.
func printPlayedEnd(s *screen, p *suites.Played) {
	silent, unread := 0, 0
	for i := range p.Motors {
		switch m := &p.Motors[i]; {
		case m.Silent:
			silent++
		case m.Read == nil:
			unread++
		}
	}
	var says []string
	if silent > 0 {
		says = append(says, fmt.Sprintf("%d of %d motors without a command, with all of the board's inputs there", silent, len(p.Motors)))
	}
	if unread > 0 {
		says = append(says, fmt.Sprintf("%d of %d motors not measured, which says nothing of the board", unread, len(p.Motors)))
	}
	if p.Late != "" && unread < len(p.Motors) {
		says = append(says, p.Late+", so that what is shown may be its doing")
	}
	if p.Late != "" {
		says = append(says, "play it on a machine that keeps time")
	}
	if len(says) > 0 {
		fmt.Fprintf(s, "\n%s  %s\n", p.Outcome(), strings.Join(says, "; "))
	}
}

// printMotor writes one motor's line.
func printMotor(s *screen, m *suites.PlayedMotor, mark float64) {
	fmt.Fprintf(s, "%s  %s", pad(m.Wheel.String(), 11), pad(string(m.Place), 13))
	r := m.Read
	switch {
	case m.Silent:
		fmt.Fprintln(s, "  "+m.Why)
		return
	case r == nil:
		fmt.Fprintln(s, "  "+notMeasured+": "+m.Why)
		return
	}
	n := decimals(100 * r.Expanded)
	shift := fixed(100*r.Shift, n)
	if r.Shift > 0 && strings.Trim(shift, "0.") != "" {
		shift = "+" + shift
	}
	fmt.Fprintf(s, "  %s  %s  %s  %s\n", padLeft(fixed(100*r.Baseline, 1)+" %", 8), padLeft(fixed(100*r.Command, 1)+" %", 8),
		padLeft(shift+" ± "+fixed(100*r.Expanded, n)+" %", 16), bar(r.Shift/mark))
}

// turning names the sense of a turn.
func turning(turn int) string {
	switch {
	case turn > 0:
		return ", turning left"
	case turn < 0:
		return ", turning right"
	}
	return ""
}

// markFor returns the share of range that one mark of the bars stands for: the
// least of 0.1, 0.2, 0.5, 1, 2, 5 and 10 % with which all shifts fit.
func markFor(p *suites.Played) float64 {
	largest := 0.0
	for i := range p.Motors {
		if r := p.Motors[i].Read; r != nil {
			largest = max(largest, math.Abs(r.Shift))
		}
	}
	for _, mark := range []float64{0.001, 0.002, 0.005, 0.01, 0.02, 0.05} {
		if largest <= barWidth*mark {
			return mark
		}
	}
	return 0.1
}

// bar draws a shift of that many marks, lowered to the left of the middle,
// raised to the right.
func bar(marks float64) string {
	n := int(math.Round(min(barWidth, max(-barWidth, marks))))
	left, right := max(0, -n), max(0, n)
	return strings.TrimRight(strings.Repeat(" ", barWidth-left)+strings.Repeat("#", left)+"|"+strings.Repeat("#", right), " ")
}
