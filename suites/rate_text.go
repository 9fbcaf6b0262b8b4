package suites

import (
	"fmt"
	"io"
	"strings"

	"hilrig/rig/signal"
	"hilrig/suites/report"
)

// RateText says what of a measurement is written for a person.
type RateText struct {
	Tick                 signal.Time // the bench's own
	Held, Found, Budgets bool        // what the policy's keys come to, what formats the lines seem to carry, what the uncertainties are made of
}

// Text writes what was measured for a person. What w could not take it does not tell.
func (r *Rate) Text(w io.Writer, of RateText) {
	printLoop(w, &r.Loop)
	printResponse(w, &r.Response)
	printOutputs(w, r)
	if of.Held {
		printRateHeld(w, r)
	}
	if of.Found {
		printFound(w, r)
	}
	if of.Budgets {
		printBudget(w, &r.Loop.Budget)
		printBudget(w, &r.Response.Budget)
	}
	fmt.Fprintf(w, "\n%.3g s driven, after %.3g s of power-up%s\n", r.Driving.Seconds(), r.PowerUp.Seconds(), finer(r.Tick, of.Tick))
}

// finer says that ticks were shorter than the bench's, where they were.
func finer(tick, own signal.Time) string {
	if tick >= own {
		return ""
	}
	return fmt.Sprintf("; in ticks of %s, finer than the bench's %s", tick.Short(), own.Short())
}

func printLoop(w io.Writer, l *LoopRate) {
	if l.Rate > 0 && l.Why == "" {
		n, by := report.Decimals(l.HalfWidth()), "frames"
		if l.Answers {
			by = "answers"
		}
		fmt.Fprintf(w, "loop      %s Hz (%s to %s, 99 %%), every %s ms, by %d %s of %s\n", report.Fixed(l.Rate, n),
			report.Fixed(l.Within.Low, n), report.Fixed(l.Within.High, n), signal.Digits(1000*l.Period(), 4), l.Frames, by, l.Motor)
	} else {
		fmt.Fprintf(w, "loop      undecided: %s\n", l.Why)
	}
	if l.EachTurn {
		fmt.Fprintln(w, "          each turn sends a frame; a multiple of that rate whose clock sends the frames too would look the same")
	}
	if l.Stalled() {
		fmt.Fprintf(w, "          longest time without a new reading: %s to %s ms\n", inMS(l.Longest.Low), inMS(l.Longest.High))
	}
	printLeftOut(w, l.LeftOut, "frame", "the rig played its own wires late")
}

// printLeftOut tells how many were not used and why, if any.
func printLeftOut(w io.Writer, n int, noun, why string) {
	if n > 0 {
		fmt.Fprintf(w, "          %s left out: %s\n", report.Count(n, "more "+noun), why)
	}
}

// inMS writes seconds in milliseconds; an open end is "any".
func inMS(x float64) string { return report.Fixed(1000*x, 2) }

func printResponse(w io.Writer, r *Response) {
	const why = "the rig played its own wires late or may have missed the answer"
	channel := strings.ReplaceAll(r.Channel.String(), "_", " ")
	if r.Why != "" {
		fmt.Fprintf(w, "response  undecided: %s\n", r.Why)
		if len(r.Motors) > 0 { // else it says so itself
			printLeftOut(w, r.LeftOut, "change", why)
		}
		return
	}
	fmt.Fprintf(w, "response  to %s, %d changes at least %s ms apart, from the wire to the end of the first answering frame\n",
		channel, r.Changes-r.LeftOut, report.Fixed(1e3*r.Apart.Seconds(), 0))
	printLeftOut(w, r.LeftOut, "change", why)
	printMotors(w, r)
	for _, wheel := range r.Still {
		fmt.Fprintf(w, "          %s did not move, though the policy's shift moves it: what that means is for hilrig run to say\n", wheel)
	}
	if len(r.Motors) == 0 {
		return
	}
	slowest := &r.Motors[r.Slowest]
	for i, p := range r.Parts {
		lead := ""
		if i == 0 {
			lead = "median of " + slowest.Wheel.String()
		}
		fmt.Fprintf(w, "%-21s %-7s %6s ms  %s\n", lead, p.Name, inMS(p.Median), p.Note)
	}
	fmt.Fprintf(w, "\nanswers of %s\n", slowest.Wheel)
	for _, line := range report.Rows(slowest.Times, 12, 50) {
		fmt.Fprintln(w, line)
	}
}

// printMotors writes the quantiles of each motor's response.
func printMotors(w io.Writer, r *Response) {
	rows := report.Table{}
	for i := range r.Motors {
		m := &r.Motors[i]
		row := []string{m.Wheel.String()}
		for _, q := range m.Quantiles {
			row = append(row, fmt.Sprintf("%s %% within %s ms (%s to %s)", signal.Digits(100*q.Share, 3), inMS(q.Value), inMS(q.Within.Low), inMS(q.Within.High)))
		}
		rows = append(rows, row)
	}
	rows.Print(w, "")
	if len(rows) > 0 {
		fmt.Fprintln(w, "in brackets what holds it with 95 %")
	}
}

// printRateHeld writes what the policy's loop_rate and response come to.
func printRateHeld(w io.Writer, r *Rate) {
	fmt.Fprintln(w, "\npolicy")
	rows := report.Table{}
	for i := range r.Held {
		c := &r.Held[i]
		row := []string{c.Name, strings.ReplaceAll(c.Verdict, "_", " ")}
		if c.Measured() {
			row = append(row, c.Quantity+" "+report.Measured(c)+", "+report.Limit(c))
		} else {
			row = append(row, c.Why)
		}
		rows = append(rows, row)
		if c.Measured() && c.Why != "" {
			rows = append(rows, []string{"", "", c.Why})
		}
	}
	rows.Print(w, "  ")
	fmt.Fprintln(w, r.Outcome())
}

func printOutputs(w io.Writer, r *Rate) {
	fmt.Fprintln(w, "\nline         frames a second   jitter rms   frame       format")
	for i := range r.Outputs {
		o := &r.Outputs[i]
		if !o.Timed() {
			fmt.Fprintf(w, "%-11v  %s\n", o.Wheel, untimed(o))
			continue
		}
		fmt.Fprintf(w, "%-11v  %12s Hz  %8s us  %7s us  %s%s\n", o.Wheel, report.Fixed(o.Rate, 2),
			report.Fixed(1e6*o.Jitter, 2), report.Fixed(1e6*o.Length, 1), o.Format, events(o))
	}
	if r.Skew.Updates > 0 {
		fmt.Fprintf(w, "frames of one update begin within %s us (median), %s us (most)\n", report.Fixed(1e6*r.Skew.Median, 1), report.Fixed(1e6*r.Skew.Most, 1))
	}
}

// untimed says why nothing is known of a line's frames.
func untimed(o *OutputLine) string {
	switch n := o.LeftOpen(); {
	case n > o.Frames:
		return fmt.Sprintf("%s: the sampler left open %s%s", report.NotMeasured, report.Count(n, "frame"), events(o))
	case o.Frames == 0:
		return "silent: no frame came" + events(o)
	}
	return fmt.Sprintf("%s: only %s came%s", report.NotMeasured, report.Count(o.Frames, "frame"), events(o))
}

// events names what came beside frames.
func events(o *OutputLine) string {
	var text strings.Builder
	for _, e := range o.Events {
		fmt.Fprintf(&text, ", %d %s", e.Count, e.Kind)
	}
	return text.String()
}

// printFound writes what formats the lines seem to carry.
func printFound(w io.Writer, r *Rate) {
	fmt.Fprintln(w, "\nline         seems to carry")
	for i := range r.Outputs {
		o := &r.Outputs[i]
		if len(o.Guesses) == 0 {
			fmt.Fprintf(w, "%-11v  nothing that reads as a motor command\n", o.Wheel)
		}
		for j, g := range o.Guesses {
			name, kind := "", g.Kind.String()
			if j == 0 {
				name = o.Wheel.String()
			}
			if g.Inverted {
				kind += ", inverted"
			}
			fmt.Fprintf(w, "%-11s  %-21s  %3s %%  %s\n", name, kind, report.Fixed(100*g.Confidence, 0), g.Why)
		}
	}
}

// printBudget writes what an uncertainty is made of, in microseconds.
func printBudget(w io.Writer, b *Budget) {
	if len(b.Sources) == 0 {
		return
	}
	row := func(name string, x float64, note string) {
		fmt.Fprintf(w, "  %-16s  %10s us  %s\n", name, report.Fixed(1e6*x, 4), note)
	}
	fmt.Fprintf(w, "\nuncertainty of the %s (JCGM 100)\n", b.Of)
	for _, x := range b.Sources {
		row(x.Name, x.Standard, x.How)
	}
	row("combined", b.Combined, "root of the sum of squares")
	row("expanded", b.Expanded, b.Coverage)
}
