package assertions

import (
	"cmp"
	"fmt"
	"slices"

	"hilrig/plant"
	"hilrig/rig/signal"
	"hilrig/rig/trace"
)

// outputsTogether asks how far apart the four motors' commands of one update
// begin, at its worst in the window. The update that a command belongs to is
// that of the nearest beginning. In a step of trials it asks when they carry a change.
func (b *branch) outputsTogether() []ask {
	if len(b.s.Changes) > 0 {
		return b.changeTogether()
	}
	limit := *b.p.OutputsTogether
	name := b.name("commands begin within " + number(limit.Seconds()*us) + " us")
	return []ask{asking(name, func(b *branch) Result { return b.beginTogether(name, limit) })}
}

// us turns a time in seconds to one in microseconds.
const us = 1e6

// beginTogether judges that at its worst.
func (b *branch) beginTogether(name string, limit signal.Time) Result {
	var frames [4][]trace.Frame
	var usual [4]signal.Time
	for _, w := range plant.Wheels {
		if frames[w] = b.e.allFrames(w, b.s); len(frames[w]) < fewest {
			return unjudged(name, b.e.few(w, b.s, len(frames[w])))
		}
		usual[w] = b.e.spacing(w)
	}
	seen, left := 0, 0
	spread, uncertainty, at, first, last := signal.Time(-1), 0.0, signal.Time(0), 0, 0
	// The first and the last update may stand across the window's ends.
	for _, f := range frames[0][1 : len(frames[0])-1] {
		low, high := f, f
		lowest, highest, whole := 0, 0, true
		for w := 1; w < len(frames); w++ {
			g := nearest(frames[w], f.Start)
			whole = whole && !b.e.missed(plant.Wheel(w), f, g, usual[w])
			if g.Start < low.Start {
				low, lowest = g, w
			}
			if g.Start > high.Start {
				high, highest = g, w
			}
		}
		if !whole {
			left++
			continue
		}
		if seen++; high.Start-low.Start > spread {
			spread, at, first, last = high.Start-low.Start, high.End, lowest, highest
			// An uncertainty in value times the width is no less than that in time.
			uncertainty = low.Uncertainty*(low.End-low.Start).Seconds() + high.Uncertainty*(high.End-high.Start).Seconds()
		}
	}
	if seen == 0 {
		r := unjudged(name, b.s.undecided("no update's commands were all seen; sample more steadily"))
		r.LeftOut = left
		return r
	}
	x := spread.Seconds()
	r := magnitude(Result{Name: name, Step: b.s.Name, At: at, LeftOut: left}, "largest time between the beginnings of one update", "us", x, uncertainty, limit.Seconds(), us)
	why := fmt.Sprintf("the command of %s began %s us after that of %s at %v; %s us are allowed", plant.Wheels[last], number(x*us), plant.Wheels[first], at, number(limit.Seconds()*us))
	return r.tooNear(why, "the policy's outputs_together")
}

// nearest returns the frame that begins nearest to t; frames holds at least one.
func nearest(frames []trace.Frame, t signal.Time) trace.Frame {
	i := min(firstFrom(frames, t), len(frames)-1)
	if i > 0 && t-frames[i-1].Start < frames[i].Start-t {
		i--
	}
	return frames[i]
}

// firstFrom returns the index of the first frame that begins at t or later, their number
// where there is none.
func firstFrom(frames []trace.Frame, t signal.Time) int {
	i, _ := slices.BinarySearchFunc(frames, t, func(f trace.Frame, t signal.Time) int { return cmp.Compare(f.Start, t) })
	return i
}
