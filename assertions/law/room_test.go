package law_test

import (
	"testing"

	"github.com/stretchr/testify/assert"

	"hilrig/assertions/law"
	"hilrig/plant"
)

// turning is a policy that moves the rear motors to the outside by 8 % of range at 60 deg/s and half gain, and at which a car
// of 0.33 m wheelbase turns too little by 45 deg/s at 4 m/s and 8 deg with a yaw rate of 0.9 rad/s.
func turning() *law.Policy {
	return &law.Policy{
		Demand:     &law.Demand{Wheelbase: 0.33, Within: 0.05},
		TurnFrom:   law.TurnFromYawRate,
		Understeer: &law.Split{Raise: []law.Corner{law.OutsideRear}, Lower: []law.Corner{law.InsideRear}},
		ShiftAt:    &law.ShiftAt{Error: 60 * degree, Gain: 0.5, Is: 0.08, Within: 0.1},
		Cap:        &law.Cap{Of: 0.9}, Floor: new(0.0), AtTheLimit: law.LimitCap,
		Standstill: &law.Fade{From: 0.5, Full: 1},
	}
}

const degree = 3.141592653589793 / 180

// answer returns what the law of a policy says at a throttle and a speed, in a turn to the left with too little yaw rate.
func answer(l *law.Law, throttle, speed float64) law.Answer {
	in := l.Inputs(law.Point{Steer: 8 * degree, Speed: speed, YawRate: 0.2 * speed, Throttle: throttle, Gain: 0.5}, law.Identity())
	return l.At(&in)
}

// A motor is past its limit where its shift surely has not the room, wherever it then stands by the policy's word; a motor
// that has the room, and one that is not moved, is not.
func TestAMotorIsPastItsLimitByItsRoom(t *testing.T) {
	for _, word := range []law.AtTheLimit{0, law.LimitCap, law.LimitMovePartner, law.LimitPartnerOnly, law.LimitScale} {
		p := turning()
		p.AtTheLimit = word
		l := law.New(p, law.Scale{})
		for _, tt := range []struct {
			throttle float64
			past     [4]bool // in the order of plant.Wheels: front left, front right, rear left, rear right
		}{
			{0.89, [4]bool{plant.RearRight: true}},
			{0.5, [4]bool{}},
			{0.03, [4]bool{plant.RearLeft: true}},
		} {
			assert.Equal(t, tt.past, answer(l, tt.throttle, 4).Past, "%v at a throttle of %v", word, tt.throttle)
		}
	}
}

// Of a shift whose size is not declared a motor is past its limit only where it has no room at all, and where there is
// surely a shift.
func TestAMotorWithNoRoomIsPastItsLimitByAnyShift(t *testing.T) {
	p := turning()
	p.ShiftAt = nil
	l := law.New(p, law.Scale{})
	assert.Equal(t, [4]bool{}, answer(l, 0.9, 4).Past, "the shift may be none")
	assert.Equal(t, [4]bool{plant.RearRight: true}, answer(l.Shown(), 0.9, 4).Past)
	assert.Equal(t, [4]bool{}, answer(l.Shown(), 0.8, 4).Past)
}

// Of a shift of which no more is known than that it is one, a motor with a lesser share may move by less than counts as none,
// which takes it past no limit for sure.
func TestAMotorWithALesserShareIsNotSurelyPastItsLimit(t *testing.T) {
	p := turning()
	p.ShiftAt = nil
	p.Understeer = &law.Split{Raise: []law.Corner{law.OutsideFront, law.OutsideRear}, Lower: []law.Corner{law.InsideFront, law.InsideRear}, Front: 0.4, Rear: 1.2}
	a := answer(law.New(p, law.Scale{}).Shown(), 0.9, 4)
	assert.Equal(t, [4]bool{plant.RearRight: true}, a.Past)
}

// Below its standstill a policy has no shift, beyond it all of it; one that does not say how slow a car stands leaves it open
// up to 1 m/s.
func TestHowSlowACarStands(t *testing.T) {
	for _, tt := range []struct {
		name     string
		standing *law.Fade
		speed    float64
		none     bool // there may be no shift
		some     bool // there may be one
	}{
		{"below", &law.Fade{From: 0.5, Full: 1}, 0.3, true, false},
		{"between", &law.Fade{From: 0.5, Full: 1}, 0.7, true, true},
		{"beyond", &law.Fade{From: 0.5, Full: 1}, 1.5, false, true},
		{"not said, slow", nil, 0.8, true, true},
		{"not said, fast", nil, 1.2, false, true},
	} {
		p := turning()
		p.Standstill = tt.standing
		p.ShiftAt.Is = 0.8 // a shift at so little speed that counts
		a := answer(law.New(p, law.Scale{}), 0.4, tt.speed)
		raised := a.Shifts[plant.RearRight]
		assert.Equal(t, tt.none, raised.Low <= 0, "%s: %+v", tt.name, raised)
		assert.Equal(t, tt.some, raised.High > 0.01, "%s: %+v", tt.name, raised)
		assert.Equal(t, tt.none && tt.some, a.Open&law.NearStandstill != 0, tt.name)
	}
}
