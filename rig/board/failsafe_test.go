package board_test

import (
	"testing"

	"github.com/stretchr/testify/assert"

	"hilrig/rig/board"
	"hilrig/rig/signal"
)

// when plays a millisecond at a time until done, and returns how long that
// took; at most 1 s.
func (w *world) when(done func() bool) signal.Time {
	start := w.now
	for !done() && w.now < start+signal.Second {
		w.run(ms)
	}
	return w.now - start
}

// trouble is something that a failsafe answers.
type trouble struct {
	name    string
	begin   func(w *world)
	end     func(w *world)
	idle    bool // answered by idling the motors, else by not shifting
	soonest signal.Time
	latest  signal.Time
}

// troubles come while rear right is raised. A pulse is up to 10 ms and a frame
// 5 ms old when its line falls silent; then come one loop and two output frames.
var troubles = []trouble{
	{"throttle lost", func(w *world) { w.throttle = 0 }, func(w *world) { w.throttleTo(0.4) }, true, 89 * ms, 115 * ms},
	{"throttle overlong", func(w *world) { w.throttle = 2300 * us }, func(w *world) { w.throttleTo(0.4) }, true, 89 * ms, 115 * ms},
	{"throttle short", func(w *world) { w.throttle = 700 * us }, func(w *world) { w.throttleTo(0.4) }, true, 89 * ms, 115 * ms},
	{"steer lost", func(w *world) { w.steer = 0 }, func(w *world) { w.steerTo(8) }, false, 89 * ms, 115 * ms},
	{"gain lost", func(w *world) { w.gain = 0 }, func(w *world) { w.gain = 1500 * us }, false, 89 * ms, 115 * ms},
	{"yaw lost", func(w *world) { w.yawLost = true }, func(w *world) { w.yawLost = false }, false, 54 * ms, 71 * ms},
	{"bad checksums", func(w *world) { w.badChecksum = true }, func(w *world) { w.badChecksum = false }, false, 54 * ms, 71 * ms},
	{"wrong baud rate", func(w *world) { w.baud = 57600 }, func(w *world) { w.baud = 115200 }, false, 54 * ms, 71 * ms},
	{"yaw frozen", func(w *world) { w.noise = 0 }, func(w *world) { w.noise = 1 }, false, 54 * ms, 81 * ms},
	{"encoder lost", func(w *world) { w.encoderLost[rl] = true }, func(w *world) { w.encoderLost[rl] = false }, false, 45 * ms, 66 * ms},
	{"encoder line broken", func(w *world) { w.lineBroken[rl] = true }, func(w *world) { w.lineBroken[rl] = false }, false, 45 * ms, 66 * ms},
}

// answered reports whether the failsafe acts.
func (x *trouble) answered(w *world) bool {
	l := w.last()
	if x.idle {
		return l == [4]float64{}
	}
	for _, share := range l {
		if share < 0.3995 || share > 0.4005 {
			return false
		}
	}
	return true
}

func shifted(w *world) bool { return w.last()[rr] > 0.43 && w.last()[fl] < 0.37 }

func TestFailsafesActInTimeAndRecoverByThemselves(t *testing.T) {
	for _, x := range troubles {
		t.Run(x.name, func(t *testing.T) {
			w := builtIn(t, nil)
			understeer(w)
			assert.True(t, shifted(w), "the shift is there before")
			x.begin(w)
			took := w.when(func() bool { return x.answered(w) })
			assert.GreaterOrEqual(t, took, x.soonest)
			assert.LessOrEqual(t, took, x.latest)
			w.run(200 * ms)
			assert.True(t, x.answered(w), "it goes on as long as its cause")
			x.end(w)
			assert.LessOrEqual(t, w.when(func() bool { return shifted(w) }), 40*ms)
		})
	}
}

func TestRecoveryAtThrottleAtIdle(t *testing.T) {
	for _, x := range troubles {
		t.Run(x.name, func(t *testing.T) {
			w := builtIn(t, func(s *board.Settings) { s.Recovers = board.AtThrottleAtIdle })
			understeer(w)
			x.begin(w)
			w.run(200 * ms)
			x.end(w)
			w.run(200 * ms)
			assert.True(t, x.answered(w), "the throttle was not at idle yet")
			w.throttleTo(0)
			w.run(30 * ms)
			w.throttleTo(0.4)
			w.run(40 * ms)
			assert.True(t, shifted(w))
		})
	}
}

func TestRecoveryAtPowerCycle(t *testing.T) {
	for _, x := range troubles {
		t.Run(x.name, func(t *testing.T) {
			w := builtIn(t, func(s *board.Settings) { s.Recovers = board.AtPowerCycle })
			understeer(w)
			x.begin(w)
			w.run(200 * ms)
			x.end(w)
			w.throttleTo(0)
			w.run(200 * ms)
			w.throttleTo(0.4)
			w.run(200 * ms)
			assert.True(t, x.answered(w))
			assert.NoError(t, w.board.Restart(w.now))
			w.run(100 * ms)
			assert.True(t, shifted(w))
		})
	}
}

func TestSafeStateSilent(t *testing.T) {
	w := builtIn(t, func(s *board.Settings) { s.SafeState = board.Silent })
	understeer(w)
	w.throttle = 0
	w.run(200 * ms)
	assert.Zero(t, w.count(w.now-80*ms, w.now))
	assert.Equal(t, [4]bool{}, w.high, "lines at rest")
	w.throttleTo(0.4)
	w.run(60 * ms)
	assert.True(t, shifted(w))
}

// TestStart takes the inputs away one by one: the motors stay at idle until all
// have been seen, or silent.
func TestStart(t *testing.T) {
	for _, x := range troubles[:7] {
		t.Run(x.name, func(t *testing.T) {
			w := builtIn(t, nil)
			x.begin(w)
			if w.throttle == 1000*us {
				w.throttleTo(0.4)
			}
			w.run(300 * ms)
			assert.Equal(t, [4]float64{}, w.mean())
			assert.InDelta(t, 4*100, w.count(0, w.now), 4, "idle pulses at 333 Hz from power-up")
			x.end(w)
			w.throttleTo(0.4)
			w.run(40 * ms)
			assert.Equal(t, 0.4, w.last()[fl])

			silent := builtIn(t, func(s *board.Settings) { s.StartState = board.Silent })
			x.begin(silent)
			silent.run(300 * ms)
			assert.Zero(t, silent.count(0, silent.now))
			x.end(silent)
			silent.throttleTo(0.4)
			silent.run(40 * ms)
			assert.Equal(t, 0.4, silent.last()[fl])
		})
	}
}

// TestSpikes: a jump of more than 250 deg/s counts only once the next frame agrees.
func TestSpikes(t *testing.T) {
	most := func(w *world, begun int) (share float64) {
		for _, p := range w.pulses[fr][begun:] {
			share = max(share, p.share())
		}
		return share
	}
	for _, c := range []struct {
		name   string
		jumps  []float64 // added to the yaw rate, frame by frame
		raised bool
	}{
		{"one frame", []float64{300}, false},
		{"two frames that disagree", []float64{300, 600}, false},
		{"two frames that agree", []float64{300, 350}, true},
		{"one frame within the limit", []float64{240}, true},
		{"there and back", []float64{300, -300, 300}, false},
	} {
		t.Run(c.name, func(t *testing.T) {
			w := builtIn(t, nil)
			hold(w, 8, onDemand)
			begun := len(w.pulses[fr])
			for _, jump := range c.jumps {
				w.yaw = onDemand + jump
				w.run(5 * ms)
			}
			w.yaw = onDemand
			w.run(50 * ms)
			assert.Equal(t, c.raised, most(w, begun) > 0.405, "raised to %v", most(w, begun))
		})
	}
}

// TestStandstillIsNoEncoderLoss: wheels that start one after the other trip
// nothing, even where a trip would stay.
func TestStandstillIsNoEncoderLoss(t *testing.T) {
	w := builtIn(t, func(s *board.Settings) { s.Recovers = board.AtPowerCycle })
	w.run(2 * signal.Second)
	w.speed = [4]float64{4, 4, 4, 0}
	w.run(40 * ms)
	understeer(w)
	assert.True(t, shifted(w))
}

func TestSlowWheelsAreNoEncoderLoss(t *testing.T) {
	w := builtIn(t, nil)
	w.speed = [4]float64{0.9, 0.9, 0.9, 0}
	w.throttleTo(0.4)
	w.steerTo(8)
	w.yaw = demand(0.675, 8) + 30
	w.run(400 * ms)
	assert.InDelta(t, 0.44, w.mean()[fr], 0.003, "the others are not above 1 m/s")
}
