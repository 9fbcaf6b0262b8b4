package assertions

import (
	"cmp"
	"math"
	"slices"

	"hilrig/plant"
	"hilrig/rig/signal"
	"hilrig/rig/trace"
	"hilrig/stimulus"
)

const (
	// distortedShare is how far a pulse's value may be from what the case asked for, as a
	// share of range or in rad.
	distortedShare = 0.005
	// keptShare is the share of a window's commands that has to remain once those are left out
	// that the rig's own lateness may have moved.
	keptShare = 0.25
	// lateEffectFactor times the rig's lateness is how much longer than lateEffect a motor may
	// move: a board that missed its inputs for long takes time to trust them again.
	lateEffectFactor = 10
)

// held says whether a step's stimulus stands still; faults that last may be among it. A
// command may then be left out, since those around it say the same.
func (e *Evidence) held(s *Step) bool {
	poweredUp := slices.ContainsFunc(e.Steps, func(one Step) bool { return one.PowerUp && one.Applied <= s.Applied })
	spikes := slices.ContainsFunc(s.Faults, func(f stimulus.Fault) bool { return f.Kind == stimulus.Spike || f.Kind == stimulus.BadPulse })
	return e.Release == 0 && !poweredUp && !s.Moving && !s.Swept && !spikes && len(s.Changes) == 0
}

// window tells a step from the others of its case.
type window struct{ applied, from, to signal.Time }

// screened returns a copy of the evidence, its comparisons and its repeats that holds the
// result of [Evidence.disturbed] for each of their steps, so that it is worked out once. The
// original does not change: several checks may be judged on it at the same time.
func (e *Evidence) screened() *Evidence {
	out := e.screenedAlone()
	out.Off, out.NoBoard = e.Off.screenedAlone(), e.NoBoard.screenedAlone()
	out.Repeats = nil
	for _, one := range e.Repeats {
		out.Repeats = append(out.Repeats, one.screenedAlone())
	}
	return out
}

// screenedAlone does the same for this evidence alone. It returns nil for nil.
func (e *Evidence) screenedAlone() *Evidence {
	if e == nil {
		return nil
	}
	out := *e
	out.disturbances = map[window][]trace.Span{}
	if e.Trace != nil && len(e.Trace.Delays) > 0 {
		for i := range e.Steps {
			s := &e.Steps[i]
			out.disturbances[window{s.Applied, s.From, s.To}] = e.disturbed(s)
		}
	}
	return &out
}

// disturbed returns the stretches in which the rig's lateness may have moved a motor, as far
// as they matter to the window of a held step, in order of their beginnings. Evidence that
// is not screened has them worked out on each call.
func (e *Evidence) disturbed(s *Step) []trace.Span {
	if e.Trace == nil || len(e.Trace.Delays) == 0 {
		return nil
	}
	if known, ok := e.disturbances[window{s.Applied, s.From, s.To}]; ok {
		return known
	}
	from, bound := s.Applied-lateEffect, e.lateBound()
	var spans []trace.Span
	for _, d := range e.Trace.Delays {
		if d.Worst > bound && d.To+lateEffectFactor*d.Worst >= from && d.From <= s.To {
			spans = append(spans, trace.Span{From: d.From, To: d.To + lateEffect + lateEffectFactor*d.Worst})
		}
	}
	for name, list := range map[string]trace.SentTo{"steer": trace.SentSteer, "throttle": trace.SentThrottle, "gain": trace.SentGain} {
		if slices.ContainsFunc(s.Faults, func(f stimulus.Fault) bool { return f.Wire == name || f.With == name }) {
			continue // its pulses are meant to be wrong
		}
		for _, p := range distorted(e.Trace.SentBetween(list, s.Applied, s.To+1), s.Applied, s.To) {
			spans = append(spans, trace.Span{From: p.Start, To: p.End + lateEffect})
		}
	}
	slices.SortFunc(spans, func(a, b trace.Span) int { return cmp.Compare(a.From, b.From) })
	return spans
}

// distorted returns those of the pulses within [from, to] that say something else than most
// of them, as the rig's own lateness makes them. Pulses that may do so count too: the sampler
// did not look when their edges came.
func distorted(sent []trace.Sent, from, to signal.Time) []trace.Sent {
	first, _ := slices.BinarySearchFunc(sent, from, func(s trace.Sent, t signal.Time) int { return cmp.Compare(s.Start, t) })
	last := first
	for last < len(sent) && sent[last].End <= to {
		last++
	}
	if last-first < 3 {
		return nil
	}
	values := make([]float64, 0, last-first)
	for _, s := range sent[first:last] {
		values = append(values, s.Value)
	}
	slices.Sort(values)
	most := values[len(values)/2]
	return slices.DeleteFunc(slices.Clone(sent[first:last]), func(s trace.Sent) bool {
		return !(math.Abs(s.Value-most)+s.ValueUncertainty > distortedShare)
	})
}

// frames returns the frames of a motor that ended in the step's window; where its
// stimulus is held, without those that the rig's own lateness may have moved.
func (e *Evidence) frames(w plant.Wheel, s *Step) []trace.Frame {
	return e.unmoved(e.allFrames(w, s), s)
}

// unmoved returns those of a held step's frames that the rig's own lateness cannot have
// moved; of any other step all.
func (e *Evidence) unmoved(all []trace.Frame, s *Step) []trace.Frame {
	if !e.held(s) {
		return all
	}
	moved := e.disturbed(s)
	if len(moved) == 0 {
		return all
	}
	kept := make([]trace.Frame, 0, len(all))
	until := signal.Time(math.MinInt64) // the end of all stretches that began so far
	for _, f := range all {
		for len(moved) > 0 && moved[0].From <= f.End {
			until = max(until, moved[0].To)
			moved = moved[1:]
		}
		if f.End > until {
			kept = append(kept, f)
		}
	}
	return kept
}

// allFrames returns the frames of a motor that ended in the step's window.
func (e *Evidence) allFrames(w plant.Wheel, s *Step) []trace.Frame {
	if e.Trace == nil || s.To <= s.From {
		return nil
	}
	return e.Trace.Motor[w].Between(s.From, s.To)
}

// tooFew returns a motor for which screening leaves too few commands in the window of a held
// step, with how many it leaves and how many there are.
func (e *Evidence) tooFew(s *Step) (w plant.Wheel, kept, seen int, few bool) {
	if len(e.disturbed(s)) == 0 {
		return 0, 0, 0, false
	}
	for _, w := range plant.Wheels {
		kept, seen := len(e.frames(w, s)), len(e.allFrames(w, s))
		if kept < seen && (kept < fewest || float64(kept) < keptShare*float64(seen)) {
			return w, kept, seen, true
		}
	}
	return 0, 0, 0, false
}

// leftOutIn returns how many commands of a motor, at most, are left out of the step of
// that name.
func (e *Evidence) leftOutIn(name string) int {
	if e.Trace == nil || len(e.Trace.Delays) == 0 {
		return 0
	}
	most := 0
	for i := range e.Steps {
		if s := &e.Steps[i]; s.Name == name && e.held(s) {
			for _, w := range plant.Wheels {
				most = max(most, len(e.allFrames(w, s))-len(e.frames(w, s)))
			}
		}
	}
	return most
}
