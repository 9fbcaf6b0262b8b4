package moment_test

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

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
		{"another first byte", func(w *world) { w.corrupt = func(f []byte) []byte { f[0] = 0x0E; return f } }, 140 * ms, 165 * ms},
		{"another last byte", func(w *world) { w.corrupt = func(f []byte) []byte { f[24] = 0x01; return f } }, 140 * ms, 165 * ms},
		{"a byte less", func(w *world) { w.corrupt = func(f []byte) []byte { return f[:24] } }, 140 * ms, 165 * ms},
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
			w.noReceiver, w.badParity, w.flags, w.corrupt = false, false, 0, same
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
		{"another first byte", func(w *world) { w.corruptYaw = func(f []byte) []byte { f[0] = 0x7A; return f } }},
		{"a byte less", func(w *world) { w.corruptYaw = func(f []byte) []byte { return f[:7] } }},
		{"no stop bits", func(w *world) { w.badStop = true }},
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
			w.noYaw, w.counterStands, w.badCRC, w.yaw, w.corruptYaw, w.badStop = false, false, false, 60, same, false
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

// A wheel that disagrees for less than 50 ms, however often, is not left out; nor is one that
// differs by less than the others' speed allows. One that was left out counts again after 200 ms.
func TestWheelsThatAreNotLeftOut(t *testing.T) {
	w := driving(t)
	for range 6 {
		w.speed[2] = 2.4
		w.run(40 * ms)
		w.speed[2] = 4
		w.run(20 * ms)
	}
	w.speed[2] = 2.4
	w.run(40 * ms)
	counts := w.shift()
	w.run(60 * ms)
	assert.Greater(t, w.shift(), counts+2, "left out by then, and the speed is 4 m/s again; CALC 0.24 * (92.5 - 78.6) is 3.3 %")

	one := newWorld(t, 1).ready().drive(30)
	one.speed = [4]float64{3, 3, 3, 4}
	one.run(100 * ms)
	counts = one.shift()
	one.speed[3] = 3
	one.run(30 * ms)
	assert.Less(t, one.shift(), counts-1, "a third more counted; CALC 0.24 * (84.1 - 74.6) is 2.3 %")

	back := driving(t)
	back.speed[2], back.speed[3] = 0, 4
	back.run(100 * ms)
	back.speed[2] = 4
	back.run(300 * ms)
	back.speed[3] = 0
	back.run(200 * ms)
	assert.Greater(t, back.shift(), 9.0, "the one that was lost first drives on")
	back.speed = [4]float64{2, 2, 4, 0}
	back.run(20 * ms)
	assert.Greater(t, back.shift(), 7.0, "it does count")
}

// Glitches just before a frame are no start bits.
func TestGlitchesOnTheSerialLines(t *testing.T) {
	w := driving(t)
	before := w.shift()
	require.Zero(t, w.now%(10*ms))
	for range 40 {
		for _, g := range []struct {
			line signal.Line
			at   signal.Time
			rest bool
		}{{receiverLine, 2*ms + 123_457 - 40_000, false}, {yawLine, 3*ms + 50_001 - 20_000, true}, {yawLine, 8*ms + 50_001 - 20_000, true}} {
			w.planned = append(w.planned, signal.Edge{At: w.now + g.at, Line: g.line, Level: !g.rest}, signal.Edge{At: w.now + g.at + 1000, Line: g.line, Level: g.rest})
		}
		w.run(10 * ms)
	}
	assert.Greater(t, w.shift(), before+1, "the memory grows on")
}
