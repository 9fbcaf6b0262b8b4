package main

import (
	"fmt"
	"io"
	"strings"

	"hilrig/rig/raspberry/realtime"
	"hilrig/rig/signal"
	"hilrig/suites/live"
	"hilrig/suites/report"
)

// saysNothing stands above and below what a bank in memory measured.
const saysNothing = "A word in memory stands for the pins: this says nothing of a Pi."

// print writes what was measured for a person.
func (t *timed) print(out io.Writer) {
	k := t.Common()
	fmt.Fprintf(out, "Measured for %.3g s on %s\n", k.For.Seconds(), t.On)
	if t.Memory() {
		fmt.Fprintln(out, saysNothing)
	}
	fmt.Fprintln(out)
	t.printScheduling(out, k.Denied)
	t.printEdges(out, &k)
	if t.Char != nil {
		t.printOverJumper(out)
	}
	fmt.Fprint(out, "\nWhat follows for this machine, as it was busy now\n")
	e := k.Encoders
	for _, f := range k.Motors {
		fmt.Fprintf(out, "  %-12s %-8s  %s\n", f.Kind, live.SupportWords[f.Support], f.Why)
	}
	fmt.Fprintf(out, "  encoders     up to %s edges/s of four wheels, %s at 90 turns/s: %s\n", signal.Digits(e.Edges, 3), count(e.Lines, "line"), e.Why)
	if t.Memory() {
		fmt.Fprintf(out, "\n%s\n", saysNothing)
	}
}

// charts returns the histograms that are printed and drawn, from top to bottom.
func (t *timed) charts() []report.Chart {
	if t.Char != nil {
		return t.charCharts()
	}
	return []report.Chart{
		{Title: "From one read to the next", Counted: "reads", Spans: &t.Measured.Gaps},
		{Title: "Edges played later than planned", Counted: "edges", Spans: &t.Measured.Late},
	}
}

// picture returns the histograms as SVG.
func (t *timed) picture() ([]byte, error) {
	words := "Measured for " + t.Common().For.Short() + " on " + t.On
	if t.Memory() {
		words += ". It says nothing of a Pi."
	}
	return report.Histograms(t.charts(), words)
}

// printEdges writes how many edges were played, and what is known of that one way alone.
func (t *timed) printEdges(out io.Writer, k *live.Common) {
	unit, name := 1e6, "M"
	if t.Char != nil {
		unit, name = 1e3, "k"
		t.printPins(out)
	} else {
		fmt.Fprintf(out, "reads        %s M/s\n", signal.Digits(live.ReadsHz(t.Measured)/1e6, 3))
	}
	fmt.Fprintf(out, "edges        %d planned at %s %s/s, %d played, %d skipped\n", k.Planned, signal.Digits(k.PlannedHz()/unit, 3), name, k.Played, k.Skipped)
	if t.Memory() {
		fmt.Fprintf(out, "             %d came back, %d of them lost\n", t.Measured.Back, t.Measured.Lost)
	}
	printTicks(out, &k.Ticks)
	for _, c := range t.charts() {
		printHistogram(out, c.Title, c.Spans)
	}
}

// printTicks writes how soon the ticks were done.
func printTicks(out io.Writer, ticks *realtime.Histogram) {
	if ticks.Count == 0 {
		fmt.Fprintln(out, "ticks        none")
		return
	}
	fmt.Fprintf(out, "ticks        %d, done after at most %s; 99 %% within %s\n", ticks.Count, ticks.Most.Short(), ticks.Quantile(0.99).Short())
}

// printScheduling says what the loop was granted.
func (t *timed) printScheduling(out io.Writer, denied []string) {
	var asked []string
	if t.Scheduling.CPU > 0 {
		asked = append(asked, fmt.Sprintf("processor %d alone", t.Scheduling.CPU-1))
	}
	if t.Scheduling.Priority > 0 {
		asked = append(asked, fmt.Sprintf("real-time priority %d", t.Scheduling.Priority))
	}
	if t.Scheduling.Lock {
		asked = append(asked, "memory kept in RAM")
	}
	fmt.Fprintf(out, "asked for    %s\n", strings.Join(asked, ", "))
	if t.Scheduling.CPU == 0 {
		fmt.Fprintln(out, "             no processor of its own: none is isolated, and there are few; hilrig ready says how")
	}
	for _, r := range denied {
		fmt.Fprintf(out, "DENIED       %s\n", r)
	}
	if len(denied) == 0 {
		fmt.Fprintln(out, "granted      all of it")
	}
}

// printHistogram writes the counts by octave, with bars.
func printHistogram(out io.Writer, title string, h *realtime.Histogram) {
	fmt.Fprintf(out, "\n%s\n", title)
	if h.Count == 0 {
		fmt.Fprintln(out, "  none")
		return
	}
	most := uint64(0)
	for _, c := range h.Octaves() {
		most = max(most, c.Count)
	}
	for _, c := range h.Octaves() {
		fmt.Fprintf(out, "  %9s to %9s %12d  %s\n", c.Least.Short(), c.Below.Short(), c.Count, report.LogBar(c.Count, most))
	}
	fmt.Fprintf(out, "  half within %s, 99 %% %s, 99.99 %% %s, 99.9999 %% %s, all %s\n",
		h.Quantile(0.5).Short(), h.Quantile(0.99).Short(), h.Quantile(0.9999).Short(), h.Quantile(0.999999).Short(), h.Most.Short())
	fmt.Fprintf(out, "  longer than 10 us: %d, than 50 us: %d, than 1 ms: %d  (a bar's length goes with the logarithm of its count)\n",
		h.Above(10*signal.Microsecond), h.Above(50*signal.Microsecond), h.Above(signal.Millisecond))
}
