package assertions_test

import (
	"slices"
	"testing"

	"github.com/stretchr/testify/assert"

	"hilrig/assertions"
	"hilrig/assertions/law"
	"hilrig/plant"
)

// nearIdle are the steps of a lost throttle which stands so low that the shift lowers the inside front motor to
// idle.
func nearIdle() (steps []assertions.Step) {
	for _, s := range faultCases["throttle_lost"] {
		s.Throttle = 0.05
		steps = append(steps, s)
	}
	return steps
}

// A motor that the shift has lowered to its end before a loss is not blamed for not being driven, as long as it
// was in the baseline; one that never was is.
func TestAMotorLoweredToItsEndIsDriven(t *testing.T) {
	assert.Equal(t, assertions.Pass, assertions.Worst(judge("throttle_lost", "lost", lossPolicy(), nil, nearIdle()...)))

	dead := func(w plant.Wheel) func(f *firmware) {
		return func(f *firmware) { f.last = func(_ *seen, m *[4]float64) { m[w] = 0 } }
	}
	for _, w := range plant.Wheels {
		results := judge("throttle_lost", "lost", lossPolicy(), dead(w), nearIdle()...)
		assert.Equal(t, assertions.Fail, assertions.Worst(results), w)
		assert.Contains(t, results[0].Why, w.String()+" was not driven")
	}
	all := func(f *firmware) {
		f.last = func(in *seen, m *[4]float64) {
			if in.step.Name == "before" {
				*m = [4]float64{}
			}
		}
	}
	assert.Equal(t, assertions.Fail, assertions.Worst(judge("throttle_lost", "lost", lossPolicy(), all, nearIdle()...)))

	throttle := faultCases["throttle_lost"] // with room below it every motor has to be driven
	atIdle := func(f *firmware) {
		f.last = func(in *seen, m *[4]float64) {
			if in.step.Name == "before" {
				m[plant.FrontLeft] = 0
			}
		}
	}
	assert.Equal(t, assertions.Fail, assertions.Worst(judge("throttle_lost", "lost", lossPolicy(), atIdle, throttle...)))
}

// A board whose traction control takes the wheel of a lost encoder for a standing one may cut the other motors,
// where the policy has traction control; it may not raise one, nor cut that wheel's.
func TestALostEncoderMayHaveTractionControlCutTheOthers(t *testing.T) {
	judged := func(share *float64, by [4]float64) assertions.Verdict {
		p := lossPolicy()
		p.TractionControl = share
		tp := tape{firmware: newFirmware(p, func(f *firmware) {
			f.last = func(in *seen, m *[4]float64) {
				for i := range m {
					if in.encoder != 0 {
						m[i] *= by[i]
					}
				}
			}
		}), ramps: ramps}
		e := tp.play(faultCases["encoder_lost"]...)
		e.Car = &plant.Car{FrontAxle: 0.14, RearAxle: 0.19, FrontTrack: 0.1, RearTrack: 0.1, WheelRadius: 0.05}
		return assertions.Worst(assertions.Judge(assertions.PolicyBranch{Of: "encoder_lost", Step: "lost"}, e))
	}
	others := [4]float64{0.5, 0.5, 1, 0.5} // the encoder is that of the rear left wheel
	assert.Equal(t, assertions.Pass, judged(nil, [4]float64{1, 1, 1, 1}))
	assert.Equal(t, assertions.Fail, judged(nil, others))
	assert.Equal(t, assertions.Pass, judged(new(0.2), others))
	assert.Equal(t, assertions.Fail, judged(new(0.2), [4]float64{0.5, 0.5, 0.5, 0.5}))
	assert.Equal(t, assertions.Fail, judged(new(0.2), [4]float64{0.5, 0.5, 1, 1.2}))
}

// A board that its traction control had cut motors of for a lost encoder cuts them no more once that is back, though it
// still shifts nothing.
func TestStillSafeIsUncutWhereTractionControlCut(t *testing.T) {
	judged := func(share *float64, later float64) assertions.Verdict {
		p := lossPolicy()
		p.TractionControl, p.Recovers = share, law.RecoversAtPowerCycle
		tp := tape{firmware: newFirmware(p, func(f *firmware) {
			cut := false
			f.last = func(in *seen, m *[4]float64) {
				by := 1.0
				if in.encoder != 0 {
					cut, by = true, 0.5
				} else if cut {
					by = later
				}
				m[plant.FrontLeft] *= by
			}
		}), ramps: ramps}
		steps := append(slices.Clone(faultCases["encoder_lost"]), after())
		e := tp.play(steps...)
		e.Car = &plant.Car{FrontAxle: 0.14, RearAxle: 0.19, FrontTrack: 0.1, RearTrack: 0.1, WheelRadius: 0.05}
		return assertions.Worst(assertions.Judge(assertions.PolicyBranch{Of: "recovers", Step: "after"}, e))
	}
	assert.Equal(t, assertions.Fail, judged(nil, 1))
	assert.Equal(t, assertions.Pass, judged(new(0.2), 1))
	assert.Equal(t, assertions.Pass, judged(new(0.2), 0.5))
	assert.Equal(t, assertions.Fail, judged(new(0.2), 1.2))
}

// A board that traction control had cut motors of in the baseline, now and then, need not while a sensor is lost, so that they
// go higher than its mean there. Without traction control the same is a fault.
func TestABaselineThatTractionControlCutSaysNothingOfTheMost(t *testing.T) {
	judged := func(share *float64, cut bool) assertions.Result {
		p := lossPolicy()
		p.TractionControl, p.YawLost = share, &law.Loss{Then: law.LossIgnored}
		tp := tape{firmware: newFirmware(p, func(f *firmware) {
			f.yawAfter, f.frozenAfter = 1000*ms, 1000*ms
			f.last = func(in *seen, m *[4]float64) {
				if cut && in.step.Baseline {
					m[plant.RearRight] *= 0.5
				}
			}
		}), ramps: ramps}
		e := tp.play(faultCases["yaw_lost"]...)
		e.Car = &plant.Car{FrontAxle: 0.14, RearAxle: 0.19, FrontTrack: 0.1, RearTrack: 0.1, WheelRadius: 0.05}
		results := assertions.Judge(assertions.PolicyBranch{Of: "yaw_lost", Step: "lost"}, e)
		return results[0]
	}
	r := judged(nil, false)
	assert.Equal(t, assertions.Pass, r.Verdict, "%+v", r)
	r = judged(nil, true)
	assert.Equal(t, assertions.Fail, r.Verdict, "%+v", r)
	r = judged(new(0.01), true)
	assert.Equal(t, assertions.Pass, r.Verdict, "%+v", r)
}

// Firmware that takes the demand for 5 % more, as it may, shifts in the baseline: by 8 % for each 60 deg/s, and so 0.6 % for 4.5. When
// the yaw rate is lost that goes too, and is no shift left over.
func TestALossEndsWhatTheBaselineWasShiftedBy(t *testing.T) {
	for name, row := range map[string]struct {
		within float64
		want   assertions.Verdict
	}{"as it may": {0.05, assertions.Pass}, "as it may not": {0, assertions.Fail}} {
		p := lossPolicy()
		p.Demand.Within, p.DeadShift = row.within, 0.004
		more := func(f *firmware) {
			f.last = func(in *seen, m *[4]float64) {
				if s := in.step; s.Baseline || s.Name == "before" {
					m[plant.RearRight] += 0.006
					m[plant.FrontLeft] -= 0.006
				}
			}
		}
		results := assertions.Judge(assertions.PolicyBranch{Of: "yaw_lost", Step: "lost"}, played(p, more, faultCases["yaw_lost"]...))
		assert.Equal(t, row.want, assertions.Worst(results), "%s: %+v", name, results)
	}
}
