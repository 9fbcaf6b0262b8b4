package moment_test

import (
	"slices"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"

	"hilrig/rig/board/moment"
	"hilrig/rig/signal"
)

// everything plays what the law has a say in, and every loss.
func everything(t testing.TB, faults ...string) []signal.Edge {
	w := newWorld(t, 5, faults...)
	w.speed[1] = 0.3 // still rolling at first
	w.yaw = 2
	w.run(300 * ms)
	w.speed[1] = 0
	w.run(1400 * ms)
	hold := func(change func()) {
		change()
		w.run(150 * ms)
		w.speed, w.gain, w.flags = [4]float64{4, 4, 4, 4}, 1792, 0
		w.noReceiver, w.noYaw, w.badCRC, w.counterStands = false, false, false, false
		w.drive(60)
	}
	hold(func() { w.throttle = 832 })
	hold(func() {})
	hold(func() { w.yaw = 140 })
	hold(func() { w.yaw = -60 })
	hold(func() { w.yaw = -60; w.run(500 * ms) }) // for longer than the integral takes to its limit
	hold(func() { w.throttle = 1792 })
	hold(func() { w.throttle = 192 + 1400; w.yaw = -100 })
	hold(func() { w.throttle = 192 + 160; w.yaw = -100 })
	hold(func() { w.throttle = 192 })
	hold(func() { w.steer = 992 + 20 })
	hold(func() { w.steer, w.yaw = 992+800, 130; w.speed = [4]float64{6, 6, 6, 6} })
	hold(func() { w.gain = 1200 })
	hold(func() { w.speed = [4]float64{2.5, 2.5, 2.5, 2.5} })
	hold(func() { w.speed = [4]float64{7, 7, 7, 7} })
	hold(func() { w.throttle = 192 + 1120; w.speed = [4]float64{5.5, 5.5, 5.5, 5.5} })
	hold(func() { w.speed = [4]float64{0.5, 0.5, 0.5, 0.5} })
	hold(func() { w.speed = [4]float64{-4, -4, -4, -4} })
	hold(func() { w.speed = [4]float64{3.8, 4.2, 3.7, 4.1} })
	hold(func() { w.speed[2] = 0 })
	hold(func() { w.noYaw = true })
	hold(func() { w.badCRC, w.yaw = true, 150 })
	hold(func() { w.counterStands, w.yaw = true, 150 })
	hold(func() { w.flags = 8 })
	hold(func() {})
	hold(func() { w.throttle = 192 })
	hold(func() {})
	return w.raw
}

// Each fault changes what the board sends, but for one that a mean does not show.
func TestEveryFaultChangesWhatIsSent(t *testing.T) {
	healthy := everything(t)
	for i, f := range moment.Faults() {
		if testing.Short() && i%5 != 0 && f.Harmless == "" {
			continue
		}
		t.Run(f.Name, func(t *testing.T) {
			assert.Equal(t, f.Harmless != "", slices.Equal(healthy, everything(t, f.Name)))
		})
	}
}

func TestTheTableOfFaults(t *testing.T) {
	all := moment.Faults()
	assert.True(t, slices.IsSortedFunc(all, func(a, b moment.Fault) int { return strings.Compare(a.Name, b.Name) }))
	for i, f := range all {
		assert.Regexp(t, "^[a-z]+(_[a-z]+)*$", f.Name)
		assert.Regexp(t, `^[A-Z].*\.$`, f.Sentence)
		assert.NotEmpty(t, f.Key)
		assert.False(t, i > 0 && all[i-1].Name == f.Name, f.Name)
		assert.Equal(t, "built-in/moment:"+f.Name, newWorld(t, 1, f.Name).board.Name())
	}
	assert.Equal(t, "built-in/moment", newWorld(t, 1).board.Name())
}

// What some of them do to a drive on which the board is well, each at one place.
func TestWhatFaultsDo(t *testing.T) {
	steady := func(fault string, change func(w *world)) float64 {
		w := newWorld(t, 1, fault).ready().drive(60)
		change(w)
		w.run(100 * ms)
		return w.shift()
	}
	none := func(*world) {}
	assert.InDelta(t, -8.6, steady("sides_exchanged", none), 0.7) // 7.8 and 0.8 of the memory
	assert.InDelta(t, 5.2*8.6/7.8, steady("shares_exchanged", none), 0.7)
	assert.InDelta(t, -8.6, steady("sides_in_throttle", func(w *world) { w.throttle = 192 + 1040 }), 0.7)
	assert.InDelta(t, 8.6, steady("sides_in_throttle", func(w *world) { w.throttle = 192 + 800 }), 0.7)
	assert.InDelta(t, 0, steady("gap_in_speed", func(w *world) { w.speed = [4]float64{7, 7, 7, 7} }), 0.03)
	assert.InDelta(t, 0, steady("gap_in_power", func(w *world) { w.speed, w.throttle = [4]float64{5.2, 5.2, 5.2, 5.2}, 192+1040 }), 0.03)
	assert.Greater(t, steady("gap_in_power", func(w *world) { w.speed = [4]float64{5.2, 5.2, 5.2, 5.2} }), 8.0)
	assert.Less(t, steady("fade_early", func(w *world) { w.speed = [4]float64{0.5, 0.5, 0.5, 0.5} }), -8.0) // far too much yaw
	assert.InDelta(t, 0, steady("fade_late", func(w *world) { w.speed = [4]float64{2.5, 2.5, 2.5, 2.5} }), 0.03)
	assert.InDelta(t, 8.6*0.9, steady("gain_continuous", func(w *world) { w.gain = 992 + 640 }), 0.7)
	assert.InDelta(t, 13.4, steady("gradient_missing", none), 0.7) // CALC 0.24 * (110.34 - 60) and 1.3 of the memory
	assert.Less(t, steady("wheel_kept", func(w *world) { w.speed[2] = 0 }), 3.0)
	w := newWorld(t, 1, "frame_dropped").ready()
	from := w.now
	w.run(signal.Second)
	assert.InDelta(t, 390, len(w.since(2, from)), 1)
	assert.InDelta(t, 400, len(w.since(3, from)), 1)
	w = newWorld(t, 1, "loop_halved").ready()
	from = w.now
	w.run(signal.Second)
	assert.InDelta(t, 200, len(w.since(2, from)), 1)
}

// What those in time do, each counted by hand.
func TestWhatFaultsInTimeDo(t *testing.T) {
	w := newWorld(t, 1, "frame_corrupt").ready().drive(60)
	w.run(400 * ms)
	begun := w.corrupted
	w.run(400 * ms)
	assert.Equal(t, [4]int{2: 4}, [4]int{w.corrupted[0] - begun[0], w.corrupted[1] - begun[1], w.corrupted[2] - begun[2], w.corrupted[3] - begun[3]}, "of 160 frames every fortieth")

	late := func(faults ...string) (apart signal.Time) {
		w := newWorld(t, 1, faults...).ready().drive(60)
		w.run(200 * ms)
		from, was := w.now, w.values()
		w.throttle = 1200
		w.run(100 * ms)
		first := func(motor int) signal.Time {
			for _, f := range w.since(motor, from) {
				if int(f.value) > was[motor]+100 {
					return f.at
				}
			}
			return 0
		}
		return first(2) - first(0)
	}
	assert.Zero(t, late())
	assert.Equal(t, 5*ms, late("rear_late"), "two turns of 2.5 ms")

	kicks := func(faults ...string) (n int) {
		w := newWorld(t, 1, faults...).ready().drive(60)
		w.run(200 * ms)
		w.flags = 8
		w.run(100 * ms)
		w.flags, w.throttle = 0, 192
		w.run(300 * ms)
		for _, f := range w.since(0, w.now-300*ms) {
			if f.value == 2047 {
				n++
			}
		}
		return n
	}
	assert.Zero(t, kicks())
	assert.Equal(t, 20, kicks("recovery_kick"), "50 ms of frames")
}
