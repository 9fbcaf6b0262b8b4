package assertions_test

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"hilrig/assertions"
	"hilrig/assertions/law"
	"hilrig/plant"
	"hilrig/rig/signal"
	"hilrig/rig/trace"
	"hilrig/stimulus"
)

// lapsePolicy is one by which each command of a case can be judged in losses too.
func lapsePolicy() *law.Policy {
	p := lossPolicy()
	p.Straight, p.ThrottleCurve, p.ShiftAt.Within = nil, law.ThrottleCurveNone, 0.1
	return p
}

// whileLost plays a case in which something is lost and comes back, before the throttle is let go and comes again.
func whileLost(p *law.Policy, f ...stimulus.Fault) *assertions.Evidence {
	idle := stretch(titled("let go", held(1, 0.5)), 100*ms, 200*ms)
	idle.Throttle = 0
	return commanded(p, base(), before(), under(stretch(titled("lost", held(1, 0.5)), 0, 600*ms), f...), after(), idle, stretch(titled("again", held(1, 0.5)), 0, 300*ms))
}

// everyLoss are faults of each loss that the policy speaks of.
var everyLoss = map[string][]stimulus.Fault{
	"throttle_lost":   {lost("throttle")},
	"steer_lost":      {lost("steer")},
	"gain_lost":       {lost("gain")},
	"receiver_lost":   {lost("steer"), lost("throttle"), lost("gain")},
	"yaw_lost":        {lost("yaw_serial")},
	"yaw_frozen":      {stuck("yaw_serial")},
	"encoder_lost":    {lost("rear_left")},
	"sequence_frozen": {{Kind: stimulus.SequenceStuck, Wire: "yaw_serial"}},
	"receiver_flag":   {{Kind: stimulus.FailsafeFlag, Wire: "throttle"}},
}

// A board that keeps the policy may be at any moment of a loss, and of what follows on it.
func TestEveryCommandOfALossIsWell(t *testing.T) {
	for key, faults := range everyLoss {
		for _, how := range []law.Recovers{law.RecoversByItself, law.RecoversAtThrottleIdle, law.RecoversAtPowerCycle} {
			e := whileLost(but(lapsePolicy(), func(p *law.Policy) { p.Recovers = how }), faults...)
			assert.Equal(t, assertions.Pass, everyCommand(t, e).Verdict, "%s %s: %+v", key, how, everyCommand(t, e))
		}
	}
}

// but returns a changed copy of a policy.
func but(p *law.Policy, change func(p *law.Policy)) *law.Policy {
	out := *p
	change(&out)
	return &out
}

// What a loss does not allow is found by single commands: before it is noticed, in it, as it ends and after it.
func TestEveryCommandOfALossIsHeldToThePolicy(t *testing.T) {
	const w = plant.RearLeft
	full := func(f *trace.Frame) { f.Value = 1 }
	zero := func(f *trace.Frame) { f.Value = 0 }
	twice := func(f *trace.Frame) { f.Value = 0.4 + 2*(f.Value-0.4) }
	as := func(x float64) func(f *trace.Frame) { return func(f *trace.Frame) { f.Value = x } }
	for _, tt := range []struct {
		name     string
		key      string
		recovers law.Recovers
		spoil    func(e *assertions.Evidence)
		want     assertions.Verdict
		keys     []string // some of those that rule it out
	}{
		{"full throttle as it begins", "yaw_lost", law.RecoversByItself, change(2, w, 20*ms, 23*ms, full), assertions.Fail, nil},
		{"one frame of no drive", "yaw_lost", law.RecoversByItself, change(2, w, 300*ms, 303*ms, zero), assertions.Fail, []string{"yaw_lost"}},
		{"one frame of no drive before the yaw rate is missed", "yaw_lost", law.RecoversByItself, change(2, w, 20*ms, 23*ms, zero), assertions.Fail, []string{"yaw_lost"}},
		{"one frame of the shift in the loss", "yaw_lost", law.RecoversByItself, change(2, plant.RearRight, 300*ms, 303*ms, as(0.45)), assertions.Fail, []string{"yaw_lost"}},
		{"one frame of the shift as it comes back", "yaw_lost", law.RecoversByItself, change(3, plant.RearRight, 0, 9*ms, as(0.45)), assertions.Pass, nil},
		{"twice the shift as it comes back", "gain_lost", law.RecoversByItself, change(3, plant.RearRight, 20*ms, 60*ms, twice), assertions.Fail, []string{"shift_at"}},
		{"the shift of no yaw rate as that comes back, of a filter that begins from nothing", "yaw_lost", law.RecoversByItself, change(3, plant.RearRight, 20*ms, 60*ms, twice), assertions.Pass, nil},
		{"the shift of no yaw rate long after that came back", "yaw_lost", law.RecoversByItself, change(3, plant.RearRight, 500*ms, 540*ms, twice), assertions.Fail, []string{"shift_at"}},
		{"full throttle as it comes back", "yaw_lost", law.RecoversByItself, change(3, w, 20*ms, 23*ms, full), assertions.Fail, nil},
		{"one driven frame in the loss", "throttle_lost", law.RecoversByItself, change(2, w, 300*ms, 303*ms, as(0.4)), assertions.Fail, []string{"throttle_lost"}},
		{"driven before it is due to stop", "throttle_lost", law.RecoversByItself, change(2, w, 130*ms, 140*ms, as(0.4)), assertions.Pass, nil},
		{"the shift before the throttle was let go", "yaw_lost", law.RecoversAtThrottleIdle, change(3, plant.RearRight, 300*ms, 303*ms, as(0.45)), assertions.Fail, []string{"yaw_lost", "recovers"}},
		{"the shift before the throttle was let go, of a board that need not wait", "yaw_lost", 0, change(3, plant.RearRight, 300*ms, 303*ms, as(0.45)), assertions.Pass, nil},
		{"the shift once the throttle was let go", "yaw_lost", law.RecoversAtThrottleIdle, func(*assertions.Evidence) {}, assertions.Pass, nil},
		{"full throttle once the throttle was let go", "yaw_lost", law.RecoversAtThrottleIdle, change(5, w, 20*ms, 23*ms, full), assertions.Fail, nil},
	} {
		t.Run(tt.name, func(t *testing.T) {
			p := lapsePolicy()
			p.Recovers = tt.recovers
			e := whileLost(p, everyLoss[tt.key]...)
			tt.spoil(e)
			r := everyCommand(t, e)
			assert.Equal(t, tt.want, r.Verdict, "%+v", r)
			assert.Subset(t, r.Keys, tt.keys)
			if tt.want == assertions.Fail {
				assert.Contains(t, r.Why, "after "+tt.key)
			}
		})
	}
}

// Of two losses at once each allows what it says, and the one that stops the motors has the last word.
func TestEveryCommandOfTwoLossesAtOnce(t *testing.T) {
	both := []stimulus.Fault{lost("yaw_serial"), lost("throttle")}
	e := whileLost(lapsePolicy(), both...)
	require.Equal(t, assertions.Pass, everyCommand(t, e).Verdict, "%+v", everyCommand(t, e))
	change(2, plant.FrontLeft, 400*ms, 403*ms, func(f *trace.Frame) { f.Value = 0.4 })(e)
	r := everyCommand(t, e)
	assert.Equal(t, assertions.Fail, r.Verdict)
	assert.Contains(t, r.Keys, "throttle_lost")
}

// What the policy does not speak of ends what is asked.
func TestALossThatIsNotSpokenOfEndsWhatIsAsked(t *testing.T) {
	silent := but(lapsePolicy(), func(p *law.Policy) { p.YawLost = nil })
	for _, e := range []*assertions.Evidence{
		whileLost(silent, lost("yaw_serial")),
		whileLost(lapsePolicy(), stimulus.Fault{Kind: stimulus.Noisy, Wire: "yaw_serial", By: 1}),
	} {
		change(3, plant.RearLeft, 100*ms, 200*ms, func(f *trace.Frame) { f.Value = 1 })(e)
		assert.Equal(t, assertions.Pass, everyCommand(t, e).Verdict)
	}
}

// Until a board that was just powered up drives, it may be at idle, and never beyond what it may be driven to.
func TestEveryCommandSinceAPowerUp(t *testing.T) {
	first := stretch(titled("switched on", held(1, 0.5)), 0, 500*ms)
	first.PowerUp, first.Throttle = true, 0
	played := func() *assertions.Evidence {
		return commanded(but(lapsePolicy(), func(p *law.Policy) { p.Arms = 0; p.StartAtRest = nil }), first, before())
	}
	e := played()
	require.Equal(t, assertions.Pass, everyCommand(t, e).Verdict, "%+v", everyCommand(t, e))
	change(1, plant.RearLeft, 20*ms, 23*ms, func(f *trace.Frame) { f.Value = 1 })(e)
	r := everyCommand(t, e)
	assert.Equal(t, assertions.Fail, r.Verdict)
	assert.Contains(t, r.Why, "after power-up")
	assert.Contains(t, r.Why, "so are 1 of")
}

// A failed check tells the first command outside, and how many are.
func TestTheFirstCommandOutsideIsTold(t *testing.T) {
	e := commanded(lapsePolicy(), base(), before())
	change(1, plant.RearLeft, 100*ms, 106*ms, func(f *trace.Frame) { f.Value = 0.5 })(e)
	change(1, plant.RearLeft, 200*ms, 203*ms, func(f *trace.Frame) { f.Value = 0.9 })(e)
	r := everyCommand(t, e)
	require.Equal(t, assertions.Fail, r.Verdict)
	assert.Contains(t, r.Why, "rear_left was commanded to 50 % at 1.60")
	assert.Contains(t, r.Why, "so are 3 of")
	assert.Contains(t, r.Why, "the farthest 90 % at 1.70")
	assert.Less(t, r.At, e.Steps[1].Applied+110*signal.Millisecond)
}
