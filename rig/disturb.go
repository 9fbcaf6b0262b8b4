package rig

import (
	"math"
	"slices"

	"hilrig/plant/portable"
	"hilrig/rig/signal"
	"hilrig/stimulus"
)

// disturbance lets glitches and jitter work on the lines of one wire. It knows their
// levels only as changes: an edge and a glitch turn a line over, so that no level
// can repeat, whatever comes together.
type disturbance struct {
	lines   []signal.Line
	levels  []bool // as played last, by line
	rest    bool   // level at rest of a port's line
	noise   portable.Noise
	faults  []interference
	pending []signal.Edge // changes still to be played, in order of time; Level means nothing
	moved   signal.Time   // of the last edge taken, as moved
	working bool          // edges have to pass through it
}

// interference is one fault that disturbs the wire.
type interference struct {
	from, to signal.Time
	line     int         // index into lines; -1 means all
	jitter   float64     // ns rms; 0 is none
	gap      float64     // ns, mean from glitch to glitch; 0 means that there are none
	width    signal.Time // of a glitch
	next     signal.Time // the next glitch
}

func newDisturbance(seed uint64, name string, lines ...signal.Line) *disturbance {
	return &disturbance{
		lines: lines, levels: make([]bool, len(lines)), moved: -1,
		noise: portable.NewNoise(seed, "disturbance of "+name),
	}
}

// begin sets the faults of a program that starts at start. The first one that
// disturbs the wire finds its lines at the levels that level tells.
func (d *disturbance) begin(f *stimulus.Fault, line int, start signal.Time) {
	w := interference{from: start + f.From, to: start + f.To, line: line}
	if f.Kind == stimulus.Jitter {
		w.jitter = f.By * 1e9
	} else {
		w.gap, w.width = 1e9/f.Rate, f.Width
		w.next = w.from + d.draw(w.gap)
	}
	d.faults = append(d.faults, w)
}

// draw returns a time spread evenly over 1 ns to twice the mean.
func (d *disturbance) draw(mean float64) signal.Time {
	return 1 + signal.Time(min(2*mean*d.noise.Float64(), 1e17))
}

// Pass implements [signal.Disturber].
func (d *disturbance) Pass(dst, edges []signal.Edge, from, to signal.Time) []signal.Edge {
	for _, e := range edges {
		d.queue(e, from)
	}
	return d.due(dst, from, to)
}

// Drop implements [signal.Disturber].
func (d *disturbance) Drop() (level bool) {
	level = d.levels[0]
	d.pending = d.pending[:0]
	d.levels[0] = d.rest
	return level
}

// queue puts an edge of the wire among the changes to come, moved where jitter moves it, though not before
// from nor before the one that came first.
func (d *disturbance) queue(e signal.Edge, from signal.Time) {
	at := e.At
	for i := range d.faults {
		if w := &d.faults[i]; w.jitter > 0 && e.At >= w.from && e.At < w.to && w.on(e.Line, d) {
			at += signal.Time(math.Round(min(max(w.jitter*d.noise.Norm(), -1e12), 1e12)))
		}
	}
	e.At = max(at, from, d.moved+1)
	d.moved = e.At
	d.pending = signal.Insert(d.pending, e)
}

func (w *interference) on(line signal.Line, d *disturbance) bool {
	return w.line < 0 || d.lines[w.line] == line
}

// due appends what changes in [from, to).
func (d *disturbance) due(dst []signal.Edge, from, to signal.Time) []signal.Edge {
	for i := range d.faults {
		d.glitch(&d.faults[i], from, to)
	}
	n := 0
	for n < len(d.pending) && d.pending[n].At < to {
		e := d.pending[n]
		n++
		if d.cancelled(n, e) {
			continue
		}
		i := slices.Index(d.lines, e.Line)
		d.levels[i] = !d.levels[i]
		e.Level = d.levels[i]
		dst = append(dst, e)
	}
	d.pending = d.pending[:copy(d.pending, d.pending[n:])]
	return dst
}

// cancelled takes out a second change of the same line at the same time, from
// index n on: together they are none.
func (d *disturbance) cancelled(n int, e signal.Edge) bool {
	for i := n; i < len(d.pending) && d.pending[i].At == e.At; i++ {
		if d.pending[i].Line == e.Line {
			d.pending = slices.Delete(d.pending, i, i+1)
			return true
		}
	}
	return false
}

// glitch adds the glitches that begin in [from, to).
func (d *disturbance) glitch(w *interference, from, to signal.Time) {
	if w.gap == 0 {
		return
	}
	for w.next < to && w.next < w.to {
		line := w.line
		if line < 0 {
			line = int(d.noise.Uint64() % uint64(len(d.lines)))
		}
		at := max(w.next, from)
		d.pending = signal.Insert(d.pending, signal.Edge{At: at, Line: d.lines[line]})
		d.pending = signal.Insert(d.pending, signal.Edge{At: at + w.width, Line: d.lines[line]})
		w.next = at + w.width + d.draw(w.gap)
	}
}

// idle says whether nothing is to come any more, at time at.
func (d *disturbance) idle(at signal.Time) bool {
	for i := range d.faults {
		if d.faults[i].to > at {
			return false
		}
	}
	return len(d.pending) == 0
}
