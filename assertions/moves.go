package assertions

import (
	"cmp"
	"math"

	"hilrig/rig/trace"
)

// with returns a copy of a step in which a channel has another value.
func (s *Step) with(c trace.Channel, value float64) *Step {
	out := *s
	switch c {
	case trace.Speed:
		out.Speed = value
	case trace.YawRate:
		out.YawRate = value
	case trace.Steer:
		out.Steer = value
	case trace.Throttle:
		out.Throttle = value
	case trace.Gain:
		out.Gain = value
	}
	return &out
}

// unmoved says why, by the policy, no motor surely moves as a channel goes from one value to
// another in the judged step, so that nothing can be timed by it; empty where one does, and where
// the policy does not say.
func (b *branch) unmoved(c trace.Channel, from, to float64) string {
	if c == trace.Throttle {
		return ""
	}
	if why := b.movesLate(c); why != "" {
		return why
	}
	if c != trace.Gain {
		if why := b.gainOpen(); why != "" {
			return why
		}
	}
	first, second := b.s.with(c, from), b.s.with(c, to)
	a, z := b.meant(first), b.meant(second)
	if missing := cmp.Or(a.missing, z.missing); missing != "" {
		if b.asksNothingIn(first) && b.asksNothingIn(second) {
			return "the policy has no " + missing
		}
		return ""
	}
	for i := range a.shifts {
		if far(a.shifts[i], z.shifts[i], b.e.deadShift()) && far(a.bare[i], z.bare[i], b.e.deadShift()) {
			return ""
		}
	}
	return "the policy has no motor move by more than " + share(b.e.deadShift()) + " with what changes in this step"
}

// asksNothingIn says whether a step lies in a branch that the policy leaves out, or about the demand.
func (b *branch) asksNothingIn(s *Step) bool {
	return b.leftOut(s) || math.Abs(s.Demand-s.YawRate) <= aboutDemand*math.Abs(s.Demand)
}

// aboutDemand is by what share of it a yaw rate lies off the demand at most that stands for it; common practice, no source.
const aboutDemand = 0.01

// movesLate says why by the policy a motor may move long after the board has answered a change of a channel; empty where
// it moves at once.
func (b *branch) movesLate(c trace.Channel) string {
	switch {
	case b.p.Integrates():
		return "the shift grows with time, so that when a motor has moved tells nothing of when the board answered"
	case b.p.MayIntegrate():
		return "the policy has no shift_at, which says whether the shift grows with time: then when a motor has moved tells nothing of when the board answered"
	case c == trace.Steer && b.p.Demand != nil && b.p.Demand.SteerRate != 0:
		return "the demand goes with how fast the steering moves, so that a motor may stay or go the other way until the steering is seen to stand"
	}
	return ""
}

// far says whether the middles of two intervals stand more than least apart.
func far(a, b Limit, least float64) bool {
	return math.Abs((a.Low+a.High)/2-(b.Low+b.High)/2) > least
}
