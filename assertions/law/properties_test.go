package law_test

import (
	"fmt"
	"math/rand/v2"
	"testing"

	"pgregory.net/rapid"

	"hilrig/assertions/law"
	"hilrig/assertions/measure"
)

// mirrored returns inputs with left and right exchanged.
func mirrored(in law.Inputs) law.Inputs {
	for _, i := range []*measure.Interval{&in.Steer, &in.SteerRate, &in.YawRate} {
		*i = measure.Interval{Low: -i.High, High: -i.Low}
	}
	in.Wheels = exchanged(in.Wheels)
	in.Unshifted = exchanged(in.Unshifted)
	return in
}

func exchanged[T any](x [4]T) [4]T { return [4]T{x[1], x[0], x[3], x[2]} }

// A law that names places in the turn knows no left and right.
func TestLawIsTheSameWithLeftAndRightExchanged(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		seed := rapid.Uint64().Draw(t, "seed")
		for k := range uint64(perSeed) {
			r := rand.New(rand.NewPCG(seed, k))
			p, scale := drawnPolicy(r), law.Scale{Lowest: -float64(r.IntN(2)), Step: 0.001}
			l := law.New(p, scale)
			x := drawnPoint(r, p, scale)
			in := around(r, &x, l)
			other := mirrored(in)
			a, b := l.At(&in), l.At(&other)
			b.Commands, b.Unshifted, b.Shifts = exchanged(b.Commands), exchanged(b.Unshifted), exchanged(b.Shifts)
			b.Perhaps, b.Surely, b.Past = exchanged(b.Perhaps), exchanged(b.Surely), exchanged(b.Past)
			if a.Missing != "" && b.Missing != "" {
				b.Missing = a.Missing // of two that are missing, the first that was come to
			}
			if a != b {
				t.Fatalf("draw %d: %+v\n%+v\n%s", k, a, b, drawn(p, &pointBoard{}, &x, &in))
			}
		}
	})
}

// looser returns a policy with larger tolerances, or with a word less.
func looser(r *rand.Rand, p *law.Policy) (q *law.Policy, what string) {
	q = clone(p)
	k := r.IntN(16)
	switch k {
	case 0:
		if q.Demand != nil {
			q.Demand.Within *= 1.5
		}
	case 1:
		if q.ShiftAt != nil {
			q.ShiftAt.Within *= 1.5
		}
	case 2:
		if q.ShiftAt == nil || q.ShiftAt.Grows != law.GrowthSaturating { // there it is what has to be seen at least
			q.DeadShift *= 1.5
		}
	case 3:
		if q.Resolution != nil {
			*q.Resolution *= 1.5
		}
	case 4:
		if q.MotorsEqualWithin != nil {
			*q.MotorsEqualWithin *= 1.5
		}
	case 5:
		if q.TractionControl != nil {
			*q.TractionControl /= 1.5
		}
	case 6:
		if q.Cap != nil {
			q.Cap.Cut = 0
		}
	case 7:
		q.AtTheLimit = 0
	case 8:
		q.AtTheCap, q.AtTheFloor, q.AtTheLimit = 0, 0, 0
	case 9:
		q.TurnFrom = 0
	case 10:
		q.OppositeLock = 0
	case 11:
		if q.Demand != nil {
			q.Demand.SpeedFrom = 0
		}
	case 12:
		q.ShiftAt = nil
	case 13:
		if q.Standstill != nil {
			q.Standstill.From /= 1.5
			q.Standstill.Full *= 1.5
		}
	case 14:
		q.Understeer = nil
	case 15:
		q.Reverse = 0
	}
	return q, fmt.Sprint(k)
}

// Whatever an owner tolerates more, or leaves out, never makes an interval narrower anywhere.
func TestLooserPoliciesAllowMore(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		seed := rapid.Uint64().Draw(t, "seed")
		for k := range uint64(perSeed) {
			r := rand.New(rand.NewPCG(seed, k))
			p, scale := drawnPolicy(r), law.Scale{Lowest: -float64(r.IntN(2)), Step: 0.001}
			q, what := looser(r, p)
			strict, loose := law.New(p, scale), law.New(q, scale)
			x := drawnPoint(r, p, scale)
			in := around(r, &x, strict)
			wide := in
			wide.Unshifted, _ = loose.FromThrottle(in.Throttle)
			a, b := strict.At(&in), loose.At(&wide)
			for i := range a.Commands {
				if !contains(b.Commands[i], a.Commands[i]) || !contains(b.Unshifted[i], a.Unshifted[i]) {
					t.Fatalf("draw %d, loosened %s: motor %d: %+v\n%+v\n%s", k, what, i, a.Commands, b.Commands, drawn(p, &pointBoard{}, &x, &in))
				}
			}
		}
	})
}

// Inputs that are less known never make an interval narrower.
func TestWiderInputsAllowMore(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		seed := rapid.Uint64().Draw(t, "seed")
		for k := range uint64(perSeed) {
			r := rand.New(rand.NewPCG(seed, k))
			p, scale := drawnPolicy(r), law.Scale{Lowest: -float64(r.IntN(2)), Step: 0.001}
			l := law.New(p, scale)
			x := drawnPoint(r, p, scale)
			in := exactly(&x, l)
			wide := around(r, &x, l)
			a, b := l.At(&in), l.At(&wide)
			for i := range a.Commands {
				if !contains(b.Commands[i], a.Commands[i]) || b.Missing == "" && !contains(b.Shifts[i], a.Shifts[i]) {
					t.Fatalf("draw %d: motor %d: %+v\n%+v\n%s", k, i, a, b, drawn(p, &pointBoard{}, &x, &wide))
				}
			}
		}
	})
}

func contains(wide, narrow measure.Interval) bool {
	return wide.Low <= narrow.Low+rounding && wide.High >= narrow.High-rounding
}
