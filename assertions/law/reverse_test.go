package law_test

import (
	"testing"

	"github.com/stretchr/testify/assert"

	"hilrig/assertions/law"
	"hilrig/plant"
)

// Backwards the outside is where the steering has it, understeer is a yaw rate of the demand's sign and of less size, and mirrored has the
// motors of the other end go, by the shares of that end.
func TestMirroredIsTheOtherEndOnTheSideOfTheSteering(t *testing.T) {
	p := law.Policy{
		Demand: &law.Demand{Wheelbase: 0.3}, TurnFrom: law.TurnFromSteer, ThrottleCurve: law.ThrottleCurveNone, Reverse: law.ReverseMirrored,
		Understeer: &law.Split{Raise: []law.Corner{law.OutsideRear}, Lower: []law.Corner{law.InsideFront}, Front: 0.5}, Oversteer: &law.Split{Raise: []law.Corner{law.InsideRear}},
		ShiftAt: &law.ShiftAt{Error: 1, Gain: 1, Is: 0.1}, Cap: &law.Cap{Of: 1}, Floor: new(0.0),
	}
	l := law.New(&p, law.Scale{})
	const demand = -3 * 0.2 / 0.3 // steered to the left and backwards, rad/s
	wants := func(yaw float64) law.Want {
		in := l.Inputs(law.Point{Speed: -3, Steer: 0.2, YawRate: yaw, Throttle: 0.5, Gain: 1}, nil)
		return l.Wants(&in)
	}
	less, more, against := wants(0.5*demand), wants(1.5*demand), wants(-0.5*demand)
	assert.Equal(t, law.Understeer, less.Answer.Branch)
	assert.Equal(t, [4]law.Asked{plant.FrontRight: law.Raised, plant.RearLeft: law.Lowered, plant.FrontLeft: law.Unchanged, plant.RearRight: law.Unchanged}, less.Asks)
	assert.InDelta(t, -0.05, less.Shifts[plant.RearLeft], 1e-9, "the share of the front goes with it")
	assert.InDelta(t, 0.1, less.Shifts[plant.FrontRight], 1e-9)
	assert.Equal(t, law.Oversteer, more.Answer.Branch)
	assert.Equal(t, law.Raised, more.Asks[plant.FrontLeft])
	for _, w := range plant.Wheels {
		assert.NotEqual(t, law.Raised, against.Asks[w])
		assert.NotEqual(t, law.Lowered, against.Asks[w])
	}
	p.TurnFrom = law.TurnFromYawRate
	l = law.New(&p, law.Scale{})
	open := wants(0.5 * demand)
	assert.False(t, open.Clear(), "firmware may take its speed with a sign or without")
}
