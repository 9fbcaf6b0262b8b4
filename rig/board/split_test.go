package board_test

import (
	"testing"

	"github.com/stretchr/testify/assert"
)

// demand is the single-track demand in deg/s of the demo car, worked out here.
func demand(speed, steerDegrees float64) float64 {
	return speed * steerDegrees / (0.330 + 0.0028*speed*speed)
}

// hold drives at 40 % throttle and 4 m/s with this steer and yaw rate in
// degrees, and returns the shifts.
func hold(w *world, steer, yaw float64) (shift [4]float64) {
	w.straight(4)
	w.throttleTo(0.4)
	w.steerTo(steer)
	w.yaw = yaw
	w.run(400 * ms)
	shift = w.mean()
	for m := range shift {
		shift[m] -= 0.4
	}
	return shift
}

func assertShift(t *testing.T, want, got [4]float64, within float64) {
	t.Helper()
	for m := range want {
		assert.InDelta(t, want[m], got[m], within, "%s: want %.4f, got %.4f", motorNames[m], want, got)
	}
}

func TestBranches(t *testing.T) {
	d := demand(4, 8)
	const s = 0.04 // at 30 deg/s of error and 50 % gain
	for _, c := range []struct {
		name       string
		steer, yaw float64
		want       [4]float64
	}{
		{"on demand, left", 8, d, [4]float64{}},
		{"understeer, left", 8, d - 30, [4]float64{fl: -s, rr: s}},
		{"understeer, right", -8, -d + 30, [4]float64{fr: -s, rl: s}},
		{"oversteer, left", 8, d + 30, [4]float64{fr: s, rr: -s}},
		{"oversteer, right", -8, -d - 30, [4]float64{fl: s, rl: -s}},
		{"opposite lock, steer left, yaw right", 2, 30 * -1, [4]float64{fr: s * (demand(4, 2) + 30) / 30, rr: -s * (demand(4, 2) + 30) / 30}},
		{"no steer, yaw left", 0, 30, [4]float64{fr: s, rr: -s}},
		{"no steer, yaw right", 0, -30, [4]float64{fl: s, rl: -s}},
	} {
		t.Run(c.name, func(t *testing.T) {
			assertShift(t, c.want, hold(builtIn(t, nil), c.steer, c.yaw), 0.0025)
		})
	}
}
