package main

import (
	"fmt"
	"strings"

	"hilrig/rig/signal"
	"hilrig/suites"
	"hilrig/suites/language"
	"hilrig/suites/record"
	"hilrig/suites/report"
)

// printPlayed writes what a hold by hand showed, a line per motor.
func printPlayed(s *screen, h *suites.Hold, p *suites.Played) {
	fmt.Fprintf(s, "held      speed %s, steer %s, throttle %s, gain %s\n", language.Speed.Format(h.Speed),
		language.Angle.Format(h.Steer), language.Share.Format(h.Throttle), language.Share.Format(h.Gain))
	fmt.Fprintf(s, "yaw rate  %s, demand %s, error %s: %s%s\n\n", language.AngularRate.Format(p.YawRate),
		language.AngularRate.Format(p.Demand), language.AngularRate.Format(p.Demand-p.YawRate),
		strings.ReplaceAll(p.Branch, "_", " "), turning(p.Turn))
	var shifts []float64
	for i := range p.Motors {
		if r := p.Motors[i].Read; r != nil {
			shifts = append(shifts, r.Shift)
		}
	}
	mark := report.Mark(shifts)
	fmt.Fprintf(s, "%-11s  %-13s %8s %8s  %16s one # is %s\n", "motor", "in the turn", "baseline", "command", "shift", language.Share.Format(mark))
	for i := range p.Motors {
		printMotor(s, &p.Motors[i], mark)
	}
	printStrips(s, p.Along)
	if says := p.NotShown(); len(says) > 0 {
		fmt.Fprintf(s, "\n%s  %s\n", p.Outcome(), strings.Join(says, "; "))
	}
}

// stripWidth is how many letters a strip over time has at most.
const stripWidth = 40

// printStrips draws yaw rate and commands over time; nothing where there is none.
func printStrips(s *screen, a *record.Along) {
	strips := report.Strips(a, stripWidth)
	if len(strips) == 0 {
		return
	}
	rows := table{{"over " + (signal.Time(len(a.Motors[0].Mean)) * signal.Time(a.BinNS)).String(), "from", "to", ""}}
	for _, k := range strips {
		rows = append(rows, []string{k.Name, k.Low, k.High, k.Drawn})
	}
	fmt.Fprintln(s)
	rows.Print(s, "", 1, 2)
}

// printMotor writes one motor's line.
func printMotor(s *screen, m *suites.PlayedMotor, mark float64) {
	fmt.Fprintf(s, "%-11v  %-13s", m.Wheel, m.Place)
	r := m.Read
	switch {
	case m.Silent:
		fmt.Fprintln(s, "  "+m.Why)
		return
	case r == nil:
		fmt.Fprintln(s, "  "+report.NotMeasured+": "+m.Why)
		return
	}
	n := report.Decimals(100 * r.Expanded)
	shift := report.Fixed(100*r.Shift, n)
	if r.Shift > 0 && strings.Trim(shift, "0.") != "" {
		shift = "+" + shift
	}
	fmt.Fprintf(s, " %6s %% %6s %%  %14s %% %s\n", report.Fixed(100*r.Baseline, 1), report.Fixed(100*r.Command, 1),
		shift+" ± "+report.Fixed(100*r.Expanded, n), report.Bar(r.Shift, mark))
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
