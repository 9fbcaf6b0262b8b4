package suites

import (
	"cmp"
	"math"
	"slices"
	"strconv"

	"hilrig/assertions"
	"hilrig/assertions/measure"
	"hilrig/plant"
	"hilrig/rig/decode"
	"hilrig/rig/signal"
	"hilrig/rig/trace"
)

// linesOf reads the frames of the four motor lines in a step's window.
func (s *Setup) linesOf(e *assertions.Evidence) (lines [4]OutputLine, skew Skew) {
	step := &e.Steps[0]
	var frames [4][]trace.Frame
	for i, w := range plant.Wheels {
		o := &e.Trace.Motor[w]
		frames[i] = o.Between(step.From, step.To)
		lines[i] = lineOf(frames[i])
		lines[i].Wheel, lines[i].Format = w, s.wiring.Motors[i].Format()
		lines[i].Events = eventsOf(o.Events)
	}
	return lines, skewOf(frames)
}

// lineOf sums up the frames of one line.
func lineOf(frames []trace.Frame) OutputLine {
	out := OutputLine{Frames: len(frames)}
	if !out.Timed() {
		return out
	}
	gaps := make([]float64, len(frames)-1)
	for i := range gaps {
		gaps[i] = (frames[i+1].Start - frames[i].Start).Seconds()
		out.Length += (frames[i].End - frames[i].Start).Seconds()
	}
	out.Length /= float64(len(gaps))
	gap := measure.Describe(gaps)
	out.Rate, out.Jitter = 1/gap.Mean, gap.Deviation
	return out
}

// eventsOf counts events by their kind.
func eventsOf(events []trace.Event) []SeenEvent {
	var seen []SeenEvent
	for _, e := range events {
		i := slices.IndexFunc(seen, func(s SeenEvent) bool { return s.Kind == e.Kind })
		if i < 0 {
			i = len(seen)
			seen = append(seen, SeenEvent{Kind: e.Kind})
		}
		seen[i].Count++
	}
	slices.SortStableFunc(seen, func(a, b SeenEvent) int { return cmp.Compare(b.Count, a.Count) })
	return seen
}

// skewOf reads how far apart the frames of one update begin: for each frame of
// the first line, the nearest of each other.
func skewOf(frames [4][]trace.Frame) Skew {
	for _, f := range frames {
		if len(f) < fewestTimed {
			return Skew{}
		}
	}
	var spreads []float64
	for _, f := range frames[0][1 : len(frames[0])-1] {
		low, high := f.Start, f.Start
		for _, other := range frames[1:] {
			k := begun(other, f.Start)
			if k == len(other) || k > 0 && f.Start-other[k-1].Start < other[k].Start-f.Start {
				k--
			}
			low, high = min(low, other[k].Start), max(high, other[k].Start)
		}
		spreads = append(spreads, (high - low).Seconds())
	}
	slices.Sort(spreads)
	return Skew{Median: measure.Quantile(spreads, 0.5), Most: spreads[len(spreads)-1], Updates: len(spreads)}
}

// micro writes seconds in microseconds.
func micro(x float64) string { return strconv.FormatFloat(math.Round(x*1e7)/10, 'f', -1, 64) + " us" }

// lineProbe keeps the newest edges of the motor lines as they were captured.
type lineProbe struct {
	lines [4]signal.Line
	edges [4][]signal.Edge
}

// enoughEdges is how many edges of a line are enough to find a format by.
const enoughEdges = 8000

func newLineProbe(layout signal.Layout) *lineProbe {
	p := &lineProbe{}
	for i, w := range signal.Wheels {
		p.lines[i], _ = layout.Find(signal.Motor, w)
	}
	return p
}

// record takes captured edges.
func (p *lineProbe) record(_, captured []signal.Edge) {
	for _, x := range captured {
		for i, l := range p.lines {
			if x.Line == l {
				if len(p.edges[i]) == 2*enoughEdges {
					p.edges[i] = append(p.edges[i][:0], p.edges[i][enoughEdges:]...)
				}
				p.edges[i] = append(p.edges[i], x)
			}
		}
	}
}

// formats finds the formats of the edges that were recorded.
func (p *lineProbe) formats(lines *[4]OutputLine) {
	for i := range lines {
		lines[i].Guesses = decode.Find(p.edges[i])
	}
}
