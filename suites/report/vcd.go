// Package report turns what a run left behind into forms that other programs
// and people read.
//
// [Wires] is every level of every wire of one case; [Wires.VCD] writes them as a
// value change dump, which any waveform viewer opens. [Histograms] draws spans of time as SVG.
// [Characteristic] draws what a speed controller gives over its throttle, as SVG and in letters.
// [Groups] and [Failures] put together what of a result a person reads in one piece.
// [JUnit], [TAP] and [CSV] write a record for programs of others; package page makes of it a page
// for a browser, and package compare holds two records against each other.
//
// # Units
//
// Times in a dump are units of 100 ns, counted from the case's start.
//
// # Sources
//
// IEEE 1364-2005, clause 18: value change dump files.
package report

import (
	"bufio"
	"fmt"
	"io"
	"strings"

	"hilrig/rig/signal"
	"hilrig/suites/record"
)

// Unit is the time unit of a dump. Finer ones make files and their readers
// many times slower, and no signal here needs them.
const Unit = 100 * signal.Nanosecond

// Wires is what happened on all wires of a bench over a stretch of time.
type Wires struct {
	Layout   signal.Layout
	From, To signal.Time
	Levels   []bool        // of each line at From
	Edges    []signal.Edge // from From on, in order of time
}

// Watch returns wires that begin at rest, for Add to fill.
func Watch(layout signal.Layout) *Wires {
	w := &Wires{Layout: layout, Levels: make([]bool, len(layout.Lines))}
	for i, l := range layout.Lines {
		w.Levels[i] = l.Idle
	}
	return w
}

// Add takes the edges of one stretch of time, driven and captured, each in order
// of time and none before those of the last call. It keeps neither slice.
func (w *Wires) Add(driven, captured []signal.Edge) {
	w.Edges = signal.Merge(w.Edges, [][]signal.Edge{driven, captured})
}

// Begin forgets all edges so far and keeps the levels that they led to: what is
// added from now on is of a stretch that begins at from.
func (w *Wires) Begin(from signal.Time) {
	for _, e := range w.Edges {
		w.Levels[e.Line] = e.Level
	}
	w.From, w.Edges = from, w.Edges[:0]
}

// VCD writes the wires as a value change dump with the time unit [Unit]. about
// is put into its comment. An edge stands at the unit nearest to its time. It
// returns the first error of out.
func (w *Wires) VCD(out io.Writer, about string) error {
	b := bufio.NewWriter(out)
	fmt.Fprintf(b, "$comment %s $end\n$timescale 100 ns $end\n$scope module bench $end\n", plain(about))
	ids := make([]string, len(w.Layout.Lines))
	for i, l := range w.Layout.Lines {
		ids[i] = identifier(i)
		fmt.Fprintf(b, "$var wire 1 %s %s $end\n", ids[i], l.Name)
	}
	fmt.Fprint(b, "$upscope $end\n$enddefinitions $end\n#0\n$dumpvars\n")
	levels := append([]bool(nil), w.Levels...)
	for i, level := range levels {
		fmt.Fprintf(b, "%d%s\n", bit(level), ids[i])
	}
	fmt.Fprint(b, "$end\n")
	at := signal.Time(0)
	for _, e := range w.Edges {
		if e.Level == levels[e.Line] {
			continue
		}
		levels[e.Line] = e.Level
		if t := w.units(e.At); t != at {
			at = t
			fmt.Fprintf(b, "#%d\n", at)
		}
		fmt.Fprintf(b, "%d%s\n", bit(e.Level), ids[e.Line])
	}
	if end := w.units(w.To); end > at {
		fmt.Fprintf(b, "#%d\n", end)
	}
	return b.Flush()
}

// units returns a time in units from the beginning, to the nearest.
func (w *Wires) units(t signal.Time) signal.Time {
	return max(0, t-w.From+Unit/2) / Unit
}

func bit(level bool) int {
	if level {
		return 1
	}
	return 0
}

// identifier returns the i-th identifier code: printable characters, as few as
// it takes.
func identifier(i int) string {
	const first, count = '!', '~' - '!' + 1
	var id strings.Builder
	id.WriteString(string(rune(first + i%count)))
	for i /= count; i > 0; i /= count {
		id.WriteString(string(rune(first + i%count)))
	}
	return id.String()
}

// plain keeps a text from ending its comment early.
func plain(text string) string { return strings.ReplaceAll(text, "$", "") }

// Marked returns what writes a dump of a record by write, with a comment before it for each thing that is wrong with that record.
func Marked(r *record.Record, write func(io.Writer) error) func(io.Writer) error {
	return func(out io.Writer) error {
		for _, text := range r.Wrong() {
			if _, err := fmt.Fprintf(out, "$comment THIS RECORD IS NOT WHOLE: %s $end\n", plain(text)); err != nil {
				return err
			}
		}
		return write(out)
	}
}
