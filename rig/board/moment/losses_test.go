package moment_test

import (
	"testing"

	"github.com/stretchr/testify/assert"

	"hilrig/rig/signal"
)

// driving returns a car whose board shifts to the left.
func driving(t testing.TB, faults ...string) *world {
	w := newWorld(t, 1, faults...).ready().drive(60)
	w.run(200 * ms)
	assert.Greater(t, w.shift(), 7.0)
	return w
}

// lateness returns how long after from a motor was sent stop for the first time.
func (w *world) lateness(motor int, from signal.Time) signal.Time {
	for _, f := range w.since(motor, from) {
		if f.value == 0 {
			return f.at - from
		}
	}
	return 0
}

// The receiver is out of reach in one way or another: idle within 200 ms, and no drive until the
// throttle has been at idle.
func TestReceiverLost(t *testing.T) {
	for _, tt := range []struct {
		name        string
		lose        func(w *world)
		least, most signal.Time
	}{
		{"no frames", func(w *world) { w.noReceiver = true }, 140 * ms, 165 * ms},
		{"a wrong parity", func(w *world) { w.badParity = true }, 140 * ms, 165 * ms},
		{"the flag for failsafe", func(w *world) { w.flags = 8 }, 0, 15 * ms},
		{"the flag for a lost frame", func(w *world) { w.flags = 4 }, 140 * ms, 165 * ms},
		{"the flags for both", func(w *world) { w.flags = 12 }, 0, 15 * ms},
	} {
		t.Run(tt.name, func(t *testing.T) {
			w := driving(t)
			from := w.now
			tt.lose(w)
			w.run(400 * ms)
			for i := range w.frames {
				assert.GreaterOrEqual(t, w.lateness(i, from), tt.least)
				assert.LessOrEqual(t, w.lateness(i, from), tt.most)
			}
			assert.Equal(t, [4]int{}, w.values())
			assert.Len(t, w.since(0, w.now-100*ms), 40, "frames go on")
			w.noReceiver, w.badParity, w.flags = false, false, 0
			w.run(500 * ms)
			assert.Equal(t, [4]int{}, w.values(), "the throttle has not been at idle")
			w.throttle = 192
			w.run(80 * ms)
			w.throttle = 832
			w.run(100 * ms)
			assert.Equal(t, [4]int{}, w.values(), "nor has it for long enough")
			w.throttle = 192
			w.run(150 * ms)
			w.throttle = 832
			w.run(100 * ms)
			assert.Greater(t, w.shift(), 7.0)
		})
	}
}

// Channels 17 and 18 are no failsafe.
func TestOtherFlagsDoNotCount(t *testing.T) {
	w := driving(t)
	w.flags = 3
	w.run(400 * ms)
	assert.Greater(t, w.shift(), 7.0)
}

// A yaw rate that has not been heard of for 30 ms is lost; over another 100 ms the shift goes.
func TestYawRateLost(t *testing.T) {
	for _, tt := range []struct {
		name string
		lose func(w *world)
	}{
		{"no frames", func(w *world) { w.noYaw = true }},
		{"the counter stands still", func(w *world) { w.counterStands = true }},
		{"wrong checksum", func(w *world) { w.badCRC = true; w.yaw = 150 }},
	} {
		t.Run(tt.name, func(t *testing.T) {
			w := driving(t)
			before := w.shift()
			tt.lose(w)
			w.run(25 * ms)
			assert.InDelta(t, before, w.shift(), 0.8)
			w.run(55 * ms)
			assert.InDelta(t, before/2, w.shift(), 1.2)
			w.run(60 * ms)
			assert.Equal(t, [4]int{848, 848, 848, 848}, w.values(), "the throttle goes on")
			w.noYaw, w.counterStands, w.badCRC, w.yaw = false, false, false, 60
			w.run(50 * ms)
			assert.InDelta(t, 3.9, w.shift(), 1.2, "coming back")
			w.run(100 * ms)
			assert.InDelta(t, 8.8, w.shift(), 0.9, "with a memory that began anew")
		})
	}
}

// A wheel that stands still is left out after 50 ms, whichever it is; so are two, one behind the other.
func TestWheelLost(t *testing.T) {
	for wheel := range 4 {
		w := driving(t)
		w.speed[wheel] = 0
		w.run(150 * ms)
		before := w.shift()
		assert.Greater(t, before, 8.0, "wheel %d", wheel)
		w.speed[wheel] = 4
		w.run(400 * ms)
		assert.Greater(t, w.shift(), before, "the memory grows on")
	}
	w := driving(t)
	w.speed[2] = 0
	w.run(100 * ms)
	w.speed[3] = 9
	w.run(100 * ms)
	assert.Greater(t, w.shift(), 8.0, "the front wheels are left")
}

// A glitch is no start bit.
func TestGlitchesOnTheSerialLines(t *testing.T) {
	w := driving(t)
	before := w.shift()
	for range 40 {
		at := w.now + 8500*signal.Microsecond
		w.level(receiverLine, at, true)
		w.level(receiverLine, at+2*signal.Microsecond, false)
		w.level(yawLine, at, false)
		w.level(yawLine, at+signal.Microsecond, true)
		w.run(10 * ms)
	}
	assert.Greater(t, w.shift(), before)
	assert.Less(t, w.shift(), before+6)
}
