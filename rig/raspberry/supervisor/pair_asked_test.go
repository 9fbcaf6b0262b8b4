package supervisor

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"hilrig/rig"
	"hilrig/rig/interlock"
	"hilrig/rig/signal"
)

// onAndOn has the worker play until something fails, whatever its context says.
func (p *paired) onAndOn(until signal.Time) Ending {
	return p.Run(func(w *Worker) int {
		bench := w.Bench(p.bench, nil)
		for tick := p.clock.Now() + ms; p.err == nil && tick < at(until); tick += ms {
			if p.err = bench.Drive([]signal.Edge{{}}, tick); p.err == nil {
				p.err = bench.Wait(tick)
			}
		}
		bench.Close()
		return exitTripped
	})
}

// Who asks once gives the motors time to idle. Who asks again wants the relay open now.
func TestASecondCtrlCOpensTheRelayAtOnce(t *testing.T) {
	for _, tt := range []struct {
		name  string
		asked []signal.Time
		open  signal.Time
	}{
		{"once", []signal.Time{100 * ms}, 100*ms + interlock.MostIdling},
		{"twice", []signal.Time{100 * ms, 130 * ms}, 130 * ms},
	} {
		t.Run(tt.name, func(t *testing.T) {
			p := newPaired(t, interlock.WheelsOffGround)
			for _, moment := range tt.asked {
				p.clock.At(at(moment), func() { p.Ask("Ctrl-C") })
			}
			ending := p.onAndOn(900 * ms)
			assert.True(t, ending.Tripped)
			assert.Contains(t, ending.Why, "Ctrl-C")
			p.ends(t, tt.open+2*ms, tt.open+2*ms)
			assert.GreaterOrEqual(t, p.last(pairPins.Relay).At, at(tt.open), "not before its time")
		})
	}
}

// That edges come in is no sign that anything is played in time: only Wait feeds the supervisor.
func TestCapturedDoesNotFeedTheSupervisor(t *testing.T) {
	p := newPaired(t, interlock.WheelsOffGround)
	p.each = func(b rig.Bench) error {
		if p.clock.Now() < at(100*ms) {
			return b.Wait(p.clock.Now() + ms)
		}
		p.Clock().SleepUntil(p.clock.Now() + ms)
		_, err := b.Captured(nil)
		return err
	}
	ending := p.play(400 * ms)
	require.True(t, ending.Tripped)
	assert.Contains(t, ending.Why, "no message from the worker")
	p.ends(t, 100*ms+interlock.MostSilence+3*ms, 100*ms+interlock.MostBeating+2*ms)
}

// The stop contact opens the relay at once: nobody is asked to idle first.
func TestTheStopContactOpensTheRelay(t *testing.T) {
	p := newPaired(t, interlock.WheelsOffGround)
	p.clock.At(at(100*ms), func() { p.Lines.Set(pairPins.Stop, false) })
	ending := p.onAndOn(400 * ms)
	assert.True(t, ending.Tripped)
	assert.Contains(t, ending.Why, "the stop contact opened")
	p.ends(t, 102*ms, 102*ms)
}
