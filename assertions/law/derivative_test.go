package law_test

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"hilrig/assertions/law"
	"hilrig/rig/signal"
)

// derivativeAction plays a yaw rate that goes from the demand to three quarters of it, in one frame, to a controller that
// adds this time, s, multiplied by the error's rate, behind a low-pass of four turns. It returns how many commands of the
// raised motor lie outside what the policy allows.
func derivativeAction(t *testing.T, p *law.Policy, time float64) (outside int) {
	const turn, until = 4 * ms, 900 * ms
	demand := p.Demand.YawRate(3, 0.12)
	yaw := func(at signal.Time) float64 {
		if at < 500*ms {
			return demand
		}
		return 0.75 * demand
	}
	h := &law.History{Curve: law.Identity()}
	for at := signal.Time(0); at < until; at += 5 * ms {
		h.YawRate.Add(at, yaw(at))
		h.Steer.Add(at, 0.12)
		h.Speed.Add(at, 3)
		h.Throttle.Add(at, 0.4)
		h.Gain.Add(at, p.ShiftAt.Gain)
	}
	l := law.New(p, law.Scale{Step: 0.0005})
	last, rate := 0.0, 0.0
	for at := 300 * ms; at < until; at += turn {
		yawError := demand - yaw(at)
		rate += ((yawError-last)/turn.Seconds() - rate) / 4
		last = yawError
		a, ok := l.Frame(h, at+ms)
		require.True(t, ok)
		if !holds(a.Commands[3], 0.4+p.ShiftAt.Is*(yawError+time*rate)/p.ShiftAt.Error) {
			outside++
		}
	}
	return outside
}

func TestDerivativeActionIsWithinALawThatDeclaresIt(t *testing.T) {
	p := bramble()
	assert.Zero(t, derivativeAction(t, p, 0))
	assert.Positive(t, derivativeAction(t, p, 0.03))
	p.ShiftAt.DerivativeTime = 0.03
	assert.Zero(t, derivativeAction(t, p, 0.03))
	assert.Positive(t, derivativeAction(t, p, 0.3), "far more than is declared")
}
