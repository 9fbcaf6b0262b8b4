package law_test

import (
	"testing"

	"github.com/stretchr/testify/assert"

	"hilrig/assertions/law"
	"hilrig/assertions/measure"
)

// Of a firmware without understeer gradient that goes by the rear wheels inside and outside, which are slower and
// faster by r t/2, r = (V -+ r t/2) d/L has the solution r = V d/(L +- d t/2).
func TestOnDemandIsWhereDemandAndYawRateMeet(t *testing.T) {
	const wheelbase, track, speed, steer = 0.33, 0.3, 4.0, 0.14
	for _, side := range []float64{1, -1} {
		hubs := func(yaw float64) [4]float64 {
			by := yaw * track / 2
			return [4]float64{speed - by, speed + by, speed - by, speed + by}
		}
		for from, want := range map[law.SpeedFrom]float64{
			0: speed * steer / wheelbase, law.SpeedFromMean: speed * steer / wheelbase, law.SpeedFromRear: speed * steer / wheelbase,
			law.SpeedFromSlowest: speed * steer / (wheelbase + steer*track/2), law.SpeedFromSecondSlowest: speed * steer / (wheelbase + steer*track/2),
			law.SpeedFromSecondFastest: speed * steer / (wheelbase - steer*track/2), law.SpeedFromFastest: speed * steer / (wheelbase - steer*track/2),
		} {
			d := law.Demand{Wheelbase: wheelbase, SpeedFrom: from}
			assert.InDelta(t, side*want, d.OnDemand(speed, side*steer, hubs), 1e-12, "%v to the side %v", from, side)
			assert.InDelta(t, side*speed*steer/wheelbase, d.OnDemand(speed, side*steer, nil), 1e-12)
		}
	}
	limited := law.Demand{Wheelbase: wheelbase, YawLimit: 1, SpeedFrom: law.SpeedFromSlowest}
	assert.InDelta(t, 1, limited.OnDemand(speed, steer, func(float64) [4]float64 { return [4]float64{3, 5, 3, 5} }), 1e-12)
}

// A wheel with a silent sensor may be read as standing, so that each other that turns is faster by any share.
func TestASilentWheelMayHaveTheOthersCut(t *testing.T) {
	l := law.New(&law.Policy{TractionControl: new(0.2)}, law.Scale{})
	in := law.Inputs{HasWheels: true, Wheels: [4]measure.Interval{measure.RangeOf(4), measure.RangeOf(4), measure.RangeOf(4), measure.RangeOf(4.2)}}
	assert.Equal(t, [4]bool{}, l.MayCut(&in))
	in.Silent[2] = true
	assert.Equal(t, [4]bool{true, true, false, true}, l.MayCut(&in))
	assert.Equal(t, [4]bool{}, law.New(&law.Policy{}, law.Scale{}).MayCut(&in))
	in.Silent, in.Wheels[3] = [4]bool{}, measure.RangeOf(4.7) // within a fifth of the share
	assert.Equal(t, [4]bool{false, false, false, true}, l.MayCut(&in))

	// A single reading of each may be off by some of it, where a mean of many is not.
	for speed, single := range map[float64]bool{4.1: false, 4.35: true} {
		in.Wheels[3] = measure.RangeOf(speed)
		in.SpeedOpen = 0
		assert.Equal(t, [4]bool{}, l.MayCut(&in))
		in.SpeedOpen = 0.2
		assert.Equal(t, [4]bool{3: single}, l.MayCut(&in))
	}
	in.SpeedOpen = 0

	// Of wheels that stand the last readings are what is left, and any may be the larger.
	for i := range in.Wheels {
		in.Wheels[i] = measure.RangeOf(0)
	}
	assert.Equal(t, [4]bool{true, true, true, true}, l.MayCut(&in))
}
