package timing

import (
	"math"

	"hilrig/rig/raspberry/hostlines"
	"hilrig/rig/signal"
)

// Wheels are four encoders of two lines each, whose wheels turn steadily, no two quite
// alike: sooner or later their edges meet in every way.
type Wheels struct {
	period [4]float64 // ns from edge to edge of one wheel; +Inf: it stands
	next   [4]float64 // time of its next edge, ns
	odd    [4]bool    // the next edge is on the second line
	level  [8]bool
	First  uint64 // edges on the first line of each, those taken back left out
}

// speeds are the wheels' shares of the rate. They add up to 1.
var speeds = [4]float64{0.2519, 0.2507, 0.2493, 0.2481}

// NewWheels returns four wheels whose encoders give rate edges a second between them.
func NewWheels(rate float64) *Wheels {
	w := &Wheels{}
	for i, share := range speeds {
		w.period[i] = math.Inf(1)
		if rate > 0 {
			w.period[i] = 1e9 / (rate * share)
		}
	}
	return w
}

// Layout returns the lines of the wheels, with their pins.
func (w *Wheels) Layout() (layout signal.Layout, pins hostlines.Pins) {
	for i, wheel := range signal.Wheels {
		layout.Lines = append(layout.Lines, signal.Spec(signal.EncoderA, wheel), signal.Spec(signal.EncoderB, wheel))
		pins = append(pins, uint8(2*i), uint8(2*i+1))
	}
	return layout, pins
}

// Begin lets the wheels turn from t on.
func (w *Wheels) Begin(t signal.Time) {
	for i := range w.next {
		w.next[i] = float64(t) + float64(w.period[i]*float64(i+1)/4)
	}
}

// Until appends the edges before t, in order of time.
func (w *Wheels) Until(dst []signal.Edge, t signal.Time) []signal.Edge {
	for {
		i := 0
		for j := range w.next {
			if w.next[j] < w.next[i] {
				i = j
			}
		}
		if w.next[i] >= float64(t) {
			return dst
		}
		line := 2 * i
		if w.odd[i] {
			line++
		} else {
			w.First++
		}
		w.odd[i] = !w.odd[i]
		w.level[line] = !w.level[line]
		dst = append(dst, signal.Edge{At: signal.Time(w.next[i]), Line: signal.Line(line), Level: w.level[line]})
		w.next[i] += w.period[i]
	}
}

// Undo has the wheels stand as before edges, which were the newest: those are not
// played, and the wheels go on from the levels that the lines have. Those of other lines are
// not theirs.
func (w *Wheels) Undo(edges []signal.Edge) {
	for _, e := range edges {
		if int(e.Line) >= len(w.level) {
			continue
		}
		w.level[e.Line] = !w.level[e.Line]
		w.odd[e.Line/2] = !w.odd[e.Line/2]
		if e.Line%2 == 0 {
			w.First--
		}
	}
}
