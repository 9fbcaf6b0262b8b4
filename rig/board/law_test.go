package board_test

import (
	"testing"

	"github.com/stretchr/testify/assert"

	"hilrig/rig/board"
	"hilrig/rig/signal"
)

// TestLawOfOtherSchools holds one situation each, in which the demo car's law would do
// otherwise. What is expected is worked out here by hand.
func TestLawOfOtherSchools(t *testing.T) {
	d := demand(4, 8)
	const s = 0.04 // the demo car's shift at 30 deg/s of error and 50 % gain
	sides := func(s *board.Settings) {
		s.Understeer = board.Split{
			Raise: []board.Place{board.OutsideFront, board.OutsideRear},
			Lower: []board.Place{board.InsideFront, board.InsideRear}, Front: 0.4, Rear: 0.6,
		}
	}
	for _, c := range []struct {
		name   string
		change func(s *board.Settings)
		play   func(w *world)
		want   [4]float64 // less the throttle, or all of it where that is 0
	}{
		{"yaw limit", func(s *board.Settings) { s.YawLimit = (d - 30) * degree }, under(d), [4]float64{}},
		{"shares of the axles", sides, under(d), [4]float64{-0.4 * s, 0.4 * s, -0.6 * s, 0.6 * s}},
		{"saturating", func(s *board.Settings) { s.Grows, s.Most = board.Saturating, 0.04 }, under(d), [4]float64{fl: -0.02, rr: 0.02}},
		{"integrating to its bound", func(s *board.Settings) { s.Grows, s.Most, s.GrowsIn = board.Integrating, 0.07, 50*ms }, under(d), [4]float64{fl: -0.07, rr: 0.07}},
		{"integrating with shares that vary with the speed as it is read", func(s *board.Settings) {
			sides(s)
			s.Understeer.Front, s.Understeer.Rear, s.Understeer.Varies = 1, 1, true
			s.Grows, s.Most, s.GrowsIn = board.Integrating, 0.07, 50*ms
		}, under(d), [4]float64{-0.07, 0.07, -0.07, 0.07}},
		{"a dead band that is passed is no part of it", func(s *board.Settings) { s.DeadBand, s.WholeBand = 20*degree, true }, under(d), [4]float64{fl: -s, rr: s}},
		{"a shift as small as this is none", func(s *board.Settings) { s.DeadShift = 0.05 }, under(d), [4]float64{}},
		{"gain in steps", func(s *board.Settings) { s.GainSteps = []float64{0, 0.25, 1} }, under(d), [4]float64{fl: -s / 2, rr: s / 2}},
		{"hardly any steer", func(s *board.Settings) { s.Straight = board.Straight{SteerFrom: 6 * degree, SteerFull: 10 * degree} }, under(d), [4]float64{fl: -s / 2, rr: s / 2}},
		{"hardly any demand", func(s *board.Settings) {
			s.Straight = board.Straight{DemandFrom: (d - 10) * degree, DemandFull: (d + 10) * degree}
		}, under(d), [4]float64{fl: -s / 2, rr: s / 2}},
		{"slow", func(s *board.Settings) { s.StandFull = 7.5 }, under(d), [4]float64{fl: -s / 2, rr: s / 2}},
		{"a share under opposite lock", func(s *board.Settings) { s.OppositeLock, s.OppositeShare = board.OppositeLockShare, 0.5 },
			turning(4, 2, demand(4, 2)-30-demand(4, 2)), [4]float64{fr: s / 2 * (demand(4, 2) + 30) / 30, rr: -s / 2 * (demand(4, 2) + 30) / 30}},
		{"understeer under opposite lock", func(s *board.Settings) { s.OppositeLock = board.OppositeLockUndersteer },
			turning(4, 2, -30), [4]float64{fl: -s * (demand(4, 2) + 30) / 30, rr: s * (demand(4, 2) + 30) / 30}},
		{"the outside by the demand", func(s *board.Settings) { s.TurnFrom = board.TurnFromDemand }, turning(4, 2, -30),
			[4]float64{fr: s * (demand(4, 2) + 30) / 30, rr: -s * (demand(4, 2) + 30) / 30}},
		{"backwards mirrored", func(s *board.Settings) { s.Reverse = board.ReverseMirrored }, turning(-4, 8, -d+30), [4]float64{rl: -s, fr: s}},
		{"backwards as forwards", func(s *board.Settings) { s.Reverse = board.ReverseAsForward }, turning(-4, 8, -d+30), [4]float64{fl: -s, rr: s}},
		{"backwards no shift", nil, turning(-4, 8, -d+30), [4]float64{}},
		{"sum capped by a factor", func(s *board.Settings) { s.SumCap, s.SumScaled = 0.8, true }, under(d), [4]float64{-0.2 - s/2, -0.2, -0.2, -0.2 + s/2}},
		{"sum cut", func(s *board.Settings) { s.SumCap = 0.8 }, under(d), [4]float64{-0.2 - s, -0.2, -0.2, -0.2 + s}},
		{"a motor that gets more", func(s *board.Settings) { s.Trim[fr] = 0.05 }, turning(4, 8, d), [4]float64{fr: 0.02}},
		{"steps of 3 %", func(s *board.Settings) { s.Step = 0.03 }, under(d), [4]float64{-0.04, -0.01, -0.01, 0.05}},
		{"a curved throttle", func(s *board.Settings) { s.ThrottleBend = 0.5 }, turning(4, 8, d), [4]float64{-0.12, -0.12, -0.12, -0.12}},
		{"a wheel that spins", func(s *board.Settings) { s.Traction = board.Traction{Share: 0.2, Cut: 0.5} },
			func(w *world) { turning(4, 8, demand(4.25, 8))(w); w.speed[fl] = 5 }, [4]float64{fl: -0.2}},
		{"the speed of the slowest wheel", func(s *board.Settings) { s.SpeedFrom = board.SpeedSlowest }, uneven(demand(2, 8)), [4]float64{}},
		{"of the second slowest", func(s *board.Settings) { s.SpeedFrom = board.SpeedSecondSlowest }, uneven(demand(3, 8)), [4]float64{}},
		{"of the second fastest", func(s *board.Settings) { s.SpeedFrom = board.SpeedSecondFastest }, uneven(demand(4, 8)), [4]float64{}},
		{"of the fastest", func(s *board.Settings) { s.SpeedFrom = board.SpeedFastest }, uneven(demand(5, 8)), [4]float64{}},
		{"of the front wheels", func(s *board.Settings) { s.SpeedFrom = board.SpeedFrontMean }, uneven(demand(4.5, 8)), [4]float64{}},
		{"of the rear wheels", func(s *board.Settings) { s.SpeedFrom = board.SpeedRearMean }, uneven(demand(2.5, 8)), [4]float64{}},
		{"no shift in braking", func(s *board.Settings) { s.BothWays, s.NoShiftInBraking = true, true; s.ThrottleIdle = 1500 * us },
			under(d), [4]float64{-0.6, -0.6, -0.6, -0.6}},
		{"a throttle that brakes by too little", func(s *board.Settings) {
			s.BothWays, s.NoShiftInBraking, s.BrakesFrom = true, true, 0.25
			s.ThrottleIdle = 1500 * us
		}, under(d), [4]float64{fl: -0.6 - s, fr: -0.6, rl: -0.6, rr: -0.6 + s}},
		{"gain in steps that meet elsewhere", func(s *board.Settings) { s.GainSteps, s.GainEdges = []float64{0, 0.25, 1}, []float64{0.1, 0.45} },
			under(d), [4]float64{fl: -2 * s, rr: 2 * s}},
	} {
		t.Run(c.name, func(t *testing.T) {
			w := builtIn(t, c.change)
			w.throttleTo(0.4)
			c.play(w)
			w.run(600 * ms)
			got := w.mean()
			for m := range got {
				got[m] -= 0.4
			}
			assertShift(t, c.want, got, 0.003)
		})
	}
}

func turning(speed, steer, yaw float64) func(w *world) {
	return func(w *world) {
		w.straight(speed)
		w.steerTo(steer)
		w.yaw = yaw
	}
}

// under lacks 30 deg/s of the demand at 4 m/s and 8 deg.
func under(d float64) func(w *world) { return turning(4, 8, d-30) }

// uneven has wheels of 4, 5, 2 and 3 m/s.
func uneven(yaw float64) func(w *world) {
	return func(w *world) {
		turning(4, 8, yaw)(w)
		w.speed = [4]float64{4, 5, 2, 3}
	}
}

// TestAtTheLimitOfOtherSchools holds 30 deg/s of error, a shift of 4 %, at 90 % throttle or at 1 %.
func TestAtTheLimitOfOtherSchools(t *testing.T) {
	const s = 0.04
	for _, c := range []struct {
		name     string
		change   func(s *board.Settings)
		throttle float64
		want     [4]float64 // front left is to be lowered, rear right to be raised
	}{
		{"partner only, at the cap", func(s *board.Settings) { s.AtTheLimit = board.LimitPartnerOnly }, 0.9, [4]float64{0.9 - 2*s, 0.9, 0.9, 0.9}},
		{"partner only, at the floor", func(s *board.Settings) { s.AtTheLimit = board.LimitPartnerOnly }, 0.01, [4]float64{0.01, 0.01, 0.01, 0.01 + 2*s}},
		{"scaled at the cap", func(s *board.Settings) { s.AtTheLimit = board.LimitScale }, 0.9, [4]float64{0.88, 0.9, 0.9, 0.92}},
		{"scaled at the floor", func(s *board.Settings) { s.AtTheLimit = board.LimitScale }, 0.01, [4]float64{0, 0.01, 0.01, 0.02}},
		{"another word at the cap", func(s *board.Settings) { s.AtCap = board.LimitScale }, 0.9, [4]float64{0.88, 0.9, 0.9, 0.92}},
		{"another word at the floor", func(s *board.Settings) { s.AtFloor = board.LimitScale }, 0.01, [4]float64{0, 0.01, 0.01, 0.02}},
		{"the word of the other limit", func(s *board.Settings) { s.AtFloor = board.LimitScale }, 0.9, [4]float64{0.9 - s, 0.9, 0.9, 0.92}},
		{"cut before the shift", nil, 0.95, [4]float64{0.92 - s, 0.92, 0.92, 0.92}},
		{"cut after the shift", func(s *board.Settings) { s.CapAfterShift = true }, 0.95, [4]float64{0.95 - s, 0.92, 0.92, 0.92}},
	} {
		t.Run(c.name, func(t *testing.T) {
			w := builtIn(t, c.change)
			w.throttleTo(c.throttle)
			turning(4, 8, demand(4, 8)-30)(w)
			w.run(400 * ms)
			assertShift(t, c.want, w.mean(), 0.003)
		})
	}
}

// TestSteerLead has the steering move while yaw rate and demand agree otherwise.
func TestSteerLead(t *testing.T) {
	w := builtIn(t, func(s *board.Settings) { s.SteerLead = 50 * ms })
	turning(4, 8, demand(4, 8))(w)
	w.throttleTo(0.4)
	w.run(400 * ms)
	for range 20 { // 6 us in 10 ms are 36 deg/s, which leads by 1.8 deg
		w.steer += 6 * us
		w.yaw = demand(4, float64(w.steer-1500*us)*30/float64(500*us))
		w.run(10 * ms)
	}
	lead := 0.04 * demand(4, 1.8) / 30
	got := w.mean()
	assertShift(t, [4]float64{0.4 - lead, 0.4, 0.4, 0.4 + lead}, got, 0.006)
}

// TestEndingsOfOtherSchools loses an input and lets the board answer each of its ways.
func TestEndingsOfOtherSchools(t *testing.T) {
	const s = 0.04
	shifted, none, idle := [4]float64{0.4 - s, 0.4, 0.4, 0.4 + s}, [4]float64{0.4, 0.4, 0.4, 0.4}, [4]float64{}
	quarter := [4]float64{0.4 - s/2, 0.4, 0.4, 0.4 + s/2}
	gone := func(w *world) { w.steer, w.throttle, w.gain = 0, 0, 0 }
	for _, c := range []struct {
		name   string
		change func(s *board.Settings)
		lose   func(w *world)
		want   [4]float64
	}{
		{"throttle, no shift", ends(board.ThrottleLost, board.ThenNoShift), func(w *world) { w.throttle = 0 }, none},
		{"throttle, ignored", ends(board.ThrottleLost, board.ThenIgnored), func(w *world) { w.throttle = 0 }, shifted},
		{"steer, idle", ends(board.SteerLost, board.ThenIdle), func(w *world) { w.steer = 0 }, idle},
		{"gain, held", ends(board.GainLost, board.ThenIgnored), func(w *world) { w.gain = 0 }, shifted},
		{"gain, a value", func(s *board.Settings) { ends(board.GainLost, board.GainAtValue)(s); s.GainValue = 0.25 }, func(w *world) { w.gain = 0 }, quarter},
		{"gain, no shift", nil, func(w *world) { w.gain = 0 }, none},
		{"yaw, idle", ends(board.YawLost, board.ThenIdle), func(w *world) { w.yawLost = true }, idle},
		{"yaw, ignored", ends(board.YawLost, board.ThenIgnored), func(w *world) { w.yawLost = true }, shifted},
		{"yaw frozen, idle", ends(board.YawFrozen, board.ThenIdle), func(w *world) { w.noise = 0 }, idle},
		{"yaw frozen, ignored", ends(board.YawFrozen, board.ThenIgnored), func(w *world) { w.noise = 0 }, shifted},
		{"sequence, nobody looks", func(s *board.Settings) { s.SequenceTimeout = 0 }, func(w *world) { w.corrupt = sameCount }, shifted},
		{"sequence, no shift", nil, func(w *world) { w.corrupt = sameCount }, none},
		{"encoder, idle", ends(board.EncoderLost, board.ThenIdle), func(w *world) { w.encoderLost[fl] = true }, idle},
		{"the receiver, idle", func(s *board.Settings) { s.ReceiverTimeout = 100 * ms }, gone, idle},
	} {
		t.Run(c.name, func(t *testing.T) {
			w := builtIn(t, c.change)
			w.throttleTo(0.4)
			under(demand(4, 8))(w)
			w.run(400 * ms)
			assertShift(t, shifted, w.mean(), 0.003)
			c.lose(w)
			w.run(400 * ms)
			assertShift(t, c.want, w.mean(), 0.003)
		})
	}
}

func ends(l board.Loss, then board.Then) func(s *board.Settings) {
	return func(s *board.Settings) { s.Endings[l].Then = then }
}

// sameCount has a frame say that it is the seventh.
func sameCount(b []byte) { b[2] = 7; b[5] = bitwiseCRC(b[2:5]) }

// TestRecoveryPerLoss loses yaw rate and steering, one of which recovers by itself.
func TestRecoveryPerLoss(t *testing.T) {
	w := builtIn(t, func(s *board.Settings) { s.Endings[board.YawLost].Recovers = board.AtPowerCycle })
	w.throttleTo(0.4)
	under(demand(4, 8))(w)
	steer := w.steer
	w.run(400 * ms)
	w.steer = 0
	w.run(300 * ms)
	assert.False(t, shifted(w))
	w.steer = steer
	w.run(300 * ms)
	assert.True(t, shifted(w))
	w.yawLost = true
	w.run(300 * ms)
	w.yawLost = false
	w.run(300 * ms)
	assert.False(t, shifted(w))
}

// TestStartAtRest powers a board up in a car that rolls, and stops it.
func TestStartAtRest(t *testing.T) {
	w := builtIn(t, func(s *board.Settings) { s.AtRestFor, s.StartState, s.ArmsAtIdle = signal.Second, board.Silent, true })
	w.straight(1)
	w.run(2 * signal.Second)
	assert.Zero(t, w.count(0, w.now), "commands of a board that was not yet at rest")
	w.straight(0)
	w.throttleTo(0.4)
	w.run(2 * signal.Second)
	assert.Zero(t, w.count(0, w.now), "commands of a board that did not see the throttle at idle")
	w.throttleTo(0)
	w.run(100 * ms)
	w.throttleTo(0.4)
	w.run(100 * ms)
	assert.InDelta(t, 0.4, w.last()[fl], 0.002)
}
