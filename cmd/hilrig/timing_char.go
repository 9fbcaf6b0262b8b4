package main

import (
	"fmt"
	"io"
	"strings"

	"hilrig/rig/raspberry/chardev"
	"hilrig/rig/raspberry/pinout"
	"hilrig/rig/signal"
	"hilrig/suites/report"
)

// unseen is said where no jumper lay.
const unseen = "Not measured: how late the kernel stamps the edges of captured lines, and whether it\nloses any. Take the board off and join two pins: hilrig timing --jumper 17,22 shows it."

// charCharts returns the histograms by the character device.
func (t *timed) charCharts() []report.Chart {
	k := t.Char
	charts := []report.Chart{{Title: lateTitle, Counted: "edges", Spans: &k.Late}, {Title: callTitle(k, "one line"), Counted: "calls", Spans: &k.Calls}}
	if j := k.Jumper; j != nil {
		return append(charts, report.Chart{Title: stampTitle, Counted: "edges", Spans: &j.Stamps}, report.Chart{Title: widthTitle, Counted: "pulses", Spans: &j.Widths}, report.Chart{Title: readTitle, Counted: "edges", Spans: &j.Read})
	}
	return append(charts, report.Chart{Title: callTitle(k, "three lines at once"), Counted: "calls", Spans: &k.Several})
}

const (
	lateTitle  = "Edges played later than planned, to the return of the kernel's call"
	stampTitle = "From the call that put an edge out to the kernel's stamp"
	widthTitle = "Pulse widths by the stamps against those by the calls"
	readTitle  = "From the kernel's stamp to when the edge had been read"
)

// callTitle says what the calls did.
func callTitle(k *chardev.Measurement, lines string) string {
	if k.Jumper != nil {
		return "How long calls took that set " + lines
	}
	return "How long calls took that read " + lines + " in place of setting"
}

// printPins says which pins the measuring changed.
func (t *timed) printPins(out io.Writer) {
	if j := t.Char.Jumper; j != nil {
		fmt.Fprintf(out, "pins         a jumper from %v, in bursts with rests; both are inputs again\n", j.Link)
		return
	}
	var names []string
	for _, n := range t.Char.Read {
		names = append(names, pinout.GPIO(n))
	}
	fmt.Fprintf(out, "pins         none changed; %s were read where others would be set\n", strings.Join(names, ", "))
}

// printOverJumper writes what came over the jumper, and where none lay what is not known.
func (t *timed) printOverJumper(out io.Writer) {
	if t.Char.Jumper == nil {
		fmt.Fprintf(out, "\n%s\n", unseen)
		return
	}
	printJumper(out, t.Char.Jumper)
}

// printJumper writes what came over the jumper, and at which rates.
func printJumper(out io.Writer, j *chardev.JumperMeasurement) {
	fmt.Fprintf(out, "\nOver the jumper\n  %d edges reported, %d lost, %d reported that nobody put out, %d reported in the wrong direction\n", j.Heard, j.Lost, j.Extra, j.Turned)
	for _, r := range j.Rungs {
		says := "all reported"
		switch {
		case r.Behind:
			says = "not put out at that rate"
		case r.Lost > 0:
			says = fmt.Sprintf("%d lost", r.Lost)
		}
		fmt.Fprintf(out, "  %8s edges/s  %8d  99 %% put out within %s, %s\n", signal.Digits(r.Rate, 3), r.Planned, r.Late.Short(), says)
	}
	if j.Highest > 0 {
		fmt.Fprintf(out, "  the highest rate without loss that was tried is %s edges/s\n", signal.Digits(j.Highest, 3))
	} else {
		fmt.Fprintln(out, "  no rate was without loss")
	}
}
