package board_test

import (
	"testing"

	"github.com/stretchr/testify/assert"

	"hilrig/rig/board"
	"hilrig/rig/signal"
)

// TestAtTheLimit holds 30 deg/s of error, a shift of 4 %, where one motor has no room.
func TestAtTheLimit(t *testing.T) {
	const s = 0.04
	movePartner := func(s *board.Settings) { s.AtTheLimit = board.LimitMovePartner }
	for _, c := range []struct {
		name     string
		change   func(s *board.Settings)
		steer    float64
		yaw      float64 // less the demand
		throttle float64
		want     [4]float64
	}{
		{"full throttle, capped in a turn", nil, 8, 0, 1, [4]float64{0.92, 0.92, 0.92, 0.92}},
		{"full throttle, straight", nil, 0, 0, 1, [4]float64{1, 1, 1, 1}},
		{"full throttle, steer below the cap's angle", nil, 1.5, 0, 1, [4]float64{1, 1, 1, 1}},
		{"raised at its cap", nil, 8, -30, 0.95, [4]float64{0.92 - s, 0.92, 0.92, 0.92}},
		{"raised near its cap", nil, 8, -30, 0.90, [4]float64{0.90 - s, 0.90, 0.90, 0.92}},
		{"raised at its cap, partner moved", movePartner, 8, -30, 0.95, [4]float64{0.92 - 2*s, 0.92, 0.92, 0.92}},
		{"raised with room, partner not moved", movePartner, 8, -30, 0.5, [4]float64{0.5 - s, 0.5, 0.5, 0.5 + s}},
		{"lowered at 0", nil, 8, -30, 0, [4]float64{0, 0, 0, s}},
		{"lowered at 0, partner moved", movePartner, 8, -30, 0, [4]float64{0, 0, 0, 2 * s}},
		{"lowered near 0", nil, 8, 30, 0.01, [4]float64{0.01, 0.01 + s, 0.01, 0}},
		{"floor", func(s *board.Settings) { s.Floor = 0.1 }, 8, -30, 0.12, [4]float64{0.1, 0.12, 0.12, 0.12 + s}},
		{"floor, partner moved", func(s *board.Settings) { s.Floor = 0.1; s.AtTheLimit = board.LimitMovePartner }, 8, -30, 0.1, [4]float64{0.1, 0.1, 0.1, 0.1 + 2*s}},
		{"floor below none", func(s *board.Settings) { s.BothWays, s.Floor = true, -0.1 }, 8, -30, -0.09, [4]float64{-0.1, -0.09, -0.09, -0.09 + s}},
		{"throttle below a floor below none", func(s *board.Settings) { s.BothWays, s.Floor = true, -0.1 }, 8, 0, -0.2, [4]float64{-0.2, -0.2, -0.2, -0.2}},
		{"throttle below the floor", func(s *board.Settings) { s.Floor = 0.1 }, 8, 0, 0.05, [4]float64{0.05, 0.05, 0.05, 0.05}},
	} {
		t.Run(c.name, func(t *testing.T) {
			w := builtIn(t, c.change)
			w.straight(4)
			w.throttleTo(c.throttle)
			w.steerTo(c.steer)
			w.yaw = demand(4, c.steer) + c.yaw
			w.run(400 * ms)
			assertShift(t, c.want, w.mean(), 0.003)
		})
	}
}

func TestPolicyVariants(t *testing.T) {
	d := demand(4, 8)
	for _, c := range []struct {
		name       string
		change     func(s *board.Settings)
		steer, yaw float64
		want       [4]float64
	}{
		{"outside by yaw rate under opposite lock", func(s *board.Settings) { s.TurnFrom = board.TurnFromYawRate }, 2, -8.65, [4]float64{fl: 0.04, rl: -0.04}},
		{"no shift under opposite lock", func(s *board.Settings) { s.OppositeLock = board.OppositeLockNoShift }, 2, -30, [4]float64{}},
		{"inside the dead band", func(s *board.Settings) { s.DeadBand = 20 * degree }, 8, d - 15, [4]float64{}},
		{"beyond the dead band", func(s *board.Settings) { s.DeadBand = 20 * degree }, 8, d - 40, [4]float64{fl: -0.04, rr: 0.04}},
		{"whole sides", func(s *board.Settings) {
			s.Understeer = board.Split{
				Raise: []board.Place{board.OutsideFront, board.OutsideRear},
				Lower: []board.Place{board.InsideFront, board.InsideRear},
			}
		}, -8, -d + 30, [4]float64{0.04, -0.04, 0.04, -0.04}},
		{"wheels by name", func(s *board.Settings) {
			s.Understeer = board.Split{Raise: []board.Place{board.FrontLeft}, Lower: []board.Place{board.RearLeft}}
		}, -8, -d + 30, [4]float64{fl: 0.04, rl: -0.04}},
		{"lateral limit", func(s *board.Settings) { s.LateralLimit = 4 * (onDemand - 30) * degree }, 8, d, [4]float64{fr: 0.04, rr: -0.04}},
	} {
		t.Run(c.name, func(t *testing.T) {
			assertShift(t, c.want, hold(builtIn(t, c.change), c.steer, c.yaw), 0.003)
		})
	}
}

func TestShiftIsProportionalToErrorAndGain(t *testing.T) {
	for _, c := range []struct{ err, gain float64 }{{10, 0.5}, {20, 0.5}, {60, 0.5}, {30, 0.25}, {30, 1}, {1, 0.5}, {0.1, 1}} {
		w := builtIn(t, nil)
		w.gain = 1000*us + signal.Time(c.gain*float64(1000*us))
		got := hold(w, 8, onDemand-c.err)[rr]
		assert.InDelta(t, 0.08*c.err/60*c.gain/0.5, got, 0.003*c.gain/0.5, "%v deg/s at gain %v", c.err, c.gain)
	}
}

func TestNoShiftBelowStandstillSpeed(t *testing.T) {
	shiftAt := func(speed float64) float64 {
		w := builtIn(t, nil)
		w.straight(speed)
		w.throttleTo(0.4)
		w.steerTo(8)
		w.yaw = demand(speed, 8) + 30
		return after(w, 400*ms, fr) - 0.4
	}
	assert.InDelta(t, 0, shiftAt(0.45), 0.001)
	assert.InDelta(t, 0.04, shiftAt(0.55), 0.003)
	assert.InDelta(t, 0, shiftAt(-0.45), 0.001)
	assert.InDelta(t, 0, shiftAt(-3), 0.001)
}

// TestSpeedEstimate reads the speed through the demand: it is right from a
// crawl to 30 m/s, and is that of the mean of unlike wheels.
func TestSpeedEstimate(t *testing.T) {
	for _, speed := range []float64{0.6, 1, 2, 7.3, 15, 30} {
		w := builtIn(t, nil)
		w.speed = [4]float64{0.8 * speed, 1.2 * speed, 0.9 * speed, 1.1 * speed}
		w.throttleTo(0.4)
		w.steerTo(3)
		w.yaw = demand(speed, 3)
		w.run(400 * ms)
		assertShift(t, [4]float64{0.4, 0.4, 0.4, 0.4}, w.mean(), 0.0025)
	}
}

// TestOversteeringCar: beyond the critical speed, 10.9 m/s here, the demand
// stays finite and keeps its sign.
func TestOversteeringCar(t *testing.T) {
	w := builtIn(t, func(s *board.Settings) { s.UndersteerGradient = -0.0028 })
	w.straight(20)
	w.throttleTo(0.4)
	w.steerTo(1.2)
	w.yaw = 20*1.2/0.033 - 30
	w.run(400 * ms)
	assertShift(t, [4]float64{0.36, 0.4, 0.4, 0.44}, w.mean(), 0.003)
}

// TestStoppedWheelsAreSeenAtOnce: a wheel without edges is as slow as one count
// in the time since the last, well before it counts as lost.
func TestStoppedWheelsAreSeenAtOnce(t *testing.T) {
	w := builtIn(t, nil)
	oversteer(w)
	w.straight(0)
	w.run(20 * ms)
	assertShift(t, [4]float64{0.4, 0.4, 0.4, 0.4}, w.last(), 0.001)
}

// TestSteerSlack: 2 us off the centre is no steer, so that the yaw rate says
// which side is outside; 3 us is.
func TestSteerSlack(t *testing.T) {
	for _, c := range []struct {
		width signal.Time
		yaw   float64
		motor int
	}{{1498 * us, 30, fr}, {1497 * us, 30, fl}, {1502 * us, -30, fl}, {1503 * us, -30, fr}} {
		w := builtIn(t, nil)
		hold(w, 0, c.yaw)
		w.steer = c.width
		w.run(60 * ms)
		assert.InDelta(t, 0.44, w.last()[c.motor], 0.005, "%v", c.width)
	}
}
