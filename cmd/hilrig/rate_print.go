package main

import (
	"fmt"
	"math"
	"slices"
	"strings"

	"hilrig/rig/signal"
	"hilrig/suites"
)

// print writes what was measured for a person; tick is the bench's own.
func (f *rateFlags) print(s *screen, r *suites.Rate, tick signal.Time) {
	printLoop(s, &r.Loop)
	printResponse(s, &r.Response)
	printOutputs(s, r)
	if f.find {
		printFound(s, r)
	}
	if f.verbose {
		printBudget(s, &r.Loop.Budget)
		printBudget(s, &r.Response.Budget)
	}
	fmt.Fprintf(s, "\n%.3g s driven, after %.3g s of power-up%s\n", r.Driving.Seconds(), r.PowerUp.Seconds(), finer(r.Tick, tick))
}

// finer says that ticks were shorter than the bench's, where they were.
func finer(tick, own signal.Time) string {
	if tick >= own {
		return ""
	}
	return fmt.Sprintf("; in ticks of %s, finer than the bench's %s", tick.Short(), own.Short())
}

func printLoop(s *screen, l *suites.LoopRate) {
	switch {
	case l.Rate > 0 && l.Why == "":
		n := decimals((l.Within.High - l.Within.Low) / 2)
		fmt.Fprintf(s, "loop      %s Hz (%s to %s, 99 %%), every %s ms, by %d frames of %s\n", fixed(l.Rate, n),
			fixed(l.Within.Low, n), fixed(l.Within.High, n), signal.Digits(1000/l.Rate, 4), l.Frames, l.Motor)
	default:
		fmt.Fprintf(s, "loop      undecided: %s\n", l.Why)
	}
	printLeftOut(s, l.LeftOut, "frame", "the rig played its own wires late")
}

// printLeftOut tells how many were not used and why, if any.
func printLeftOut(s *screen, n int, noun, why string) {
	if n > 0 {
		fmt.Fprintf(s, "          %s left out: %s\n", count(n, "more "+noun), why)
	}
}

// ms writes seconds in milliseconds; an open end is "any".
func ms(x float64) string {
	if math.IsInf(x, 0) {
		return "any"
	}
	return fixed(1000*x, 2)
}

func printResponse(s *screen, r *suites.Response) {
	const why = "the rig played its own wires late or may have missed the answer"
	if r.Why != "" {
		fmt.Fprintf(s, "response  undecided: %s\n", r.Why)
		if len(r.Quantiles) > 0 { // else it says so itself
			printLeftOut(s, r.LeftOut, "change", why)
		}
		return
	}
	fmt.Fprintf(s, "response  to %s, %d changes, from the wire to the end of the first answering frame\n",
		strings.ReplaceAll(r.Channel.String(), "_", " "), r.Trials)
	printLeftOut(s, r.LeftOut, "change", why)
	for _, q := range r.Quantiles {
		fmt.Fprintf(s, "          %s within %s ms (%s to %s, 95 %%)\n", padLeft(signal.Digits(100*q.Share, 3)+" %", 5), padLeft(ms(q.Value), 6), ms(q.Within.Low), ms(q.Within.High))
	}
	for i, p := range r.Parts {
		lead := ""
		if i == 0 {
			lead = "median of"
		}
		fmt.Fprintf(s, "%s %s %s ms  %s\n", pad(lead, 9), pad(p.Name, 7), padLeft(ms(p.Median), 6), p.Note)
	}
	fmt.Fprintln(s)
	for _, line := range histogram(r.Times, 12, 50) {
		fmt.Fprintln(s, line)
	}
}

// histogram draws how values in s, sorted, are spread, in rows of a round number
// of milliseconds, about so many: the longest row has width marks.
func histogram(sorted []float64, rows, width int) []string {
	if len(sorted) == 0 {
		return nil
	}
	first, step, counts := suites.Spread(sorted, rows)
	most := slices.Max(counts)
	lines := make([]string, len(counts))
	for i, n := range counts {
		from := (first + float64(i)) * step
		marks := strings.Repeat("#", int(math.Ceil(float64(n*width)/float64(most))))
		lines[i] = strings.TrimRight(fmt.Sprintf("%s ms |%s %s", padLeft(fixed(from, decimals(step)), 9), marks, nonZero(n)), " ")
	}
	return lines
}

// nonZero writes a count, nothing for none.
func nonZero(n int) string {
	if n == 0 {
		return ""
	}
	return digits(n)
}

func printOutputs(s *screen, r *suites.Rate) {
	fmt.Fprintln(s, "\nline         frames a second   jitter rms   frame       format")
	for i := range r.Outputs {
		o := &r.Outputs[i]
		if !o.Timed() {
			fmt.Fprintf(s, "%s  %s\n", pad(o.Wheel.String(), 11), untimed(o))
			continue
		}
		fmt.Fprintf(s, "%s  %s  %s  %s  %s%s\n", pad(o.Wheel.String(), 11), padLeft(fixed(o.Rate, 2)+" Hz", 15),
			padLeft(fixed(1e6*o.Jitter, 2)+" us", 11), padLeft(fixed(1e6*o.Length, 1)+" us", 10), o.Format, events(o))
	}
	if r.Skew.Updates > 0 {
		fmt.Fprintf(s, "frames of one update begin within %s us (median), %s us (most)\n", fixed(1e6*r.Skew.Median, 1), fixed(1e6*r.Skew.Most, 1))
	}
}

// untimed says why nothing is known of a line's frames.
func untimed(o *suites.OutputLine) string {
	switch n := o.LeftOpen(); {
	case n > o.Frames:
		return fmt.Sprintf("%s: the sampler left open %s%s", notMeasured, count(n, "frame"), events(o))
	case o.Frames == 0:
		return "silent: no frame came" + events(o)
	}
	return fmt.Sprintf("%s: only %s came%s", notMeasured, count(o.Frames, "frame"), events(o))
}

// events names what came beside frames.
func events(o *suites.OutputLine) string {
	var text strings.Builder
	for _, e := range o.Events {
		fmt.Fprintf(&text, ", %d %s", e.Count, e.Kind)
	}
	return text.String()
}

// printFound writes what formats the lines seem to carry.
func printFound(s *screen, r *suites.Rate) {
	fmt.Fprintln(s, "\nline         seems to carry")
	for i := range r.Outputs {
		o := &r.Outputs[i]
		if len(o.Guesses) == 0 {
			fmt.Fprintf(s, "%s  nothing that reads as a motor command\n", pad(o.Wheel.String(), 11))
		}
		for j, g := range o.Guesses {
			name, kind := "", g.Kind.String()
			if j == 0 {
				name = o.Wheel.String()
			}
			if g.Inverted {
				kind += ", inverted"
			}
			fmt.Fprintf(s, "%s  %s  %s  %s\n", pad(name, 11), pad(kind, 21), padLeft(fixed(100*g.Confidence, 0)+" %", 5), g.Why)
		}
	}
}

// printBudget writes what an uncertainty is made of, in microseconds.
func printBudget(s *screen, b *suites.Budget) {
	if len(b.Sources) == 0 {
		return
	}
	row := func(name string, x float64, note string) {
		fmt.Fprintf(s, "  %s  %s us  %s\n", pad(name, 16), padLeft(fixed(1e6*x, 4), 10), note)
	}
	fmt.Fprintf(s, "\nuncertainty of the %s (JCGM 100)\n", b.Of)
	for _, x := range b.Sources {
		row(x.Name, x.Standard, x.How)
	}
	row("combined", b.Combined, "root of the sum of squares")
	row("expanded", b.Expanded, b.Coverage)
}
