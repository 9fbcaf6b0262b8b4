package law_test

import (
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
	"pgregory.net/rapid"

	"hilrig/assertions/law"
	"hilrig/plant"
)

// Yaw gains r/delta = v/(L + K v^2) of the linear single-track model, computed
// from the parameters that copies of R. Rajamani, Vehicle Dynamics and
// Control, chapter 3, quote (wheelbase 2.68 m). Not published values.
func TestDemandAgainstTheSingleTrackModel(t *testing.T) {
	d := law.Demand{Wheelbase: 2.68, UndersteerGradient: 0.0017608209}
	for v, gain := range map[float64]float64{10: 3.5012999, 20: 5.9095921, 30: 7.0344285} {
		assert.InEpsilon(t, gain*0.1, d.YawRate(v, 0.1), 1e-7, "at %v m/s", v)
	}
	// At the characteristic speed sqrt(L/K) the gain is at its most, v/(2 L).
	const characteristic = 39.013041
	assert.InEpsilon(t, characteristic/(2*2.68), d.YawRate(characteristic, 1), 1e-7)
	assert.Less(t, d.YawRate(characteristic*1.02, 1), d.YawRate(characteristic, 1))
	assert.Less(t, d.YawRate(characteristic*0.98, 1), d.YawRate(characteristic, 1))
}

func TestDemandProperties(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		d := law.Demand{
			Wheelbase:          rapid.Float64Range(0.1, 3).Draw(t, "wheelbase"),
			UndersteerGradient: rapid.Float64Range(0, 0.01).Draw(t, "gradient"),
			LateralLimit:       rapid.SampledFrom([]float64{0, 2, 9}).Draw(t, "limit"),
		}
		v, steer := rapid.Float64Range(-30, 30).Draw(t, "speed"), rapid.Float64Range(-0.6, 0.6).Draw(t, "steer")
		r := d.YawRate(v, steer)
		assert.Equal(t, r, -d.YawRate(v, -steer), "mirrored")
		assert.GreaterOrEqual(t, r*steer*v, 0.0, "into the turn, forwards")
		if d.LateralLimit > 0 {
			assert.LessOrEqual(t, math.Abs(r*v), d.LateralLimit*(1+1e-12))
		}
		assert.Zero(t, d.YawRate(0, steer))
	})
}

func TestTurn(t *testing.T) {
	steer := &law.Policy{TurnFrom: law.TurnFromSteer}
	yaw := &law.Policy{}
	tests := []struct {
		name       string
		p          *law.Policy
		yaw, steer float64
		want       int
	}{
		{"left", yaw, 1, 0.1, 1},
		{"right", yaw, -1, -0.1, -1},
		{"opposite lock by yaw rate", yaw, 1, -0.1, 1},
		{"opposite lock by steer", steer, 1, -0.1, -1},
		{"no yaw: by the steer", yaw, 0, -0.1, -1},
		{"no steer: by the yaw", steer, 1, 0, 1},
		{"straight", yaw, 0, 0, 0},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			turn := tt.p.Turn(tt.yaw, tt.steer)
			assert.Equal(t, tt.want, turn)
		})
	}
}

// Outside is the side away from the centre of the turn.
func TestCornersInATurn(t *testing.T) {
	for c, want := range map[law.Corner][2]plant.Wheel{ // in a turn to the left, to the right
		law.OutsideFront: {plant.FrontRight, plant.FrontLeft},
		law.InsideFront:  {plant.FrontLeft, plant.FrontRight},
		law.OutsideRear:  {plant.RearRight, plant.RearLeft},
		law.InsideRear:   {plant.RearLeft, plant.RearRight},
		law.RearLeft:     {plant.RearLeft, plant.RearLeft},
	} {
		left, ok := c.Wheel(1)
		assert.True(t, ok)
		right, _ := c.Wheel(-1)
		assert.Equal(t, want, [2]plant.Wheel{left, right}, "%v", c)
	}
	_, ok := law.Corner("rear").Wheel(1)
	assert.False(t, ok)
}
