package moment

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"hilrig/rig/signal"
)

// turn is a left turn in which the car turns too little: the demand is 4 * 8 / (0.29 + 0.0035 * 16) = 92.486 deg/s.
func turn() inputs {
	return inputs{speed: 4, steer: 8 * degree, throttle: 0.4, gain: 1, yaw: 60 * degree, yawPresent: true, drive: true}
}

// first returns the commands of the first turn of the loop, in which the memory has taken
// no more than 0.04 % of range.
func first(t *testing.T, in inputs, names ...string) [4]float64 {
	t.Helper()
	s := Thistle()
	for _, name := range names {
		var err error
		s, err = WithFault(s, name)
		require.NoError(t, err)
	}
	l := law{present: 1}
	return l.step(&s, s.LoopPeriod, in)
}

// CALC by hand from the formulas of the package's comment: the moment is 0.4 % of range a degree per second, of which a rear
// motor has 60 % and a front one 40 %.
func TestLawAtPoints(t *testing.T) {
	for _, tt := range []struct {
		name   string
		change func(in *inputs)
		want   [4]float64 // front left, front right, rear left, rear right
	}{
		{"understeer to the left", func(*inputs) {}, [4]float64{0.3480, 0.4520, 0.3220, 0.4780}}, // 32.486 deg/s
		{"to the right", func(in *inputs) { in.steer, in.yaw = -in.steer, -in.yaw }, [4]float64{0.4520, 0.3480, 0.4780, 0.3220}},
		{"oversteer", func(in *inputs) { in.yaw = 120 * degree }, [4]float64{0.4440, 0.3560, 0.4660, 0.3340}},               // -27.514 deg/s
		{"opposite lock goes by the error", func(in *inputs) { in.yaw = -10 * degree }, [4]float64{0.28, 0.52, 0.22, 0.58}}, // 102.486 deg/s: at the limit of 30 %
		{"half gain", func(in *inputs) { in.gain = 0.5 }, [4]float64{0.3740, 0.4260, 0.3610, 0.4390}},
		{"no gain", func(in *inputs) { in.gain = 0 }, [4]float64{0.4, 0.4, 0.4, 0.4}},
		{"demand within 150 deg/s", func(in *inputs) { in.steer, in.yaw = 20*degree, 130*degree }, [4]float64{0.368, 0.432, 0.352, 0.448}}, // 20 deg/s
		{"half faded in by speed", func(in *inputs) { in.speed, in.yaw = 1.5, 0 }, [4]float64{0.3677, 0.4323, 0.3517, 0.4483}},             // 40.286 deg/s * 1/2
		{"not faded in", func(in *inputs) { in.speed = 1 }, [4]float64{0.4, 0.4, 0.4, 0.4}},
		{"backwards", func(in *inputs) { in.speed = -4 }, [4]float64{0.4, 0.4, 0.4, 0.4}},
		{"steering straight ahead", func(in *inputs) { in.steer = 1.5 * degree }, [4]float64{0.4, 0.4, 0.4, 0.4}},
		{"half faded in by steering", func(in *inputs) { in.steer, in.yaw = 2.25*degree, 0 }, [4]float64{0.3792, 0.4208, 0.3688, 0.4312}},                    // 26.012 deg/s * 1/2
		{"just past straight ahead", func(in *inputs) { in.speed, in.steer, in.yaw = 10, -1.6*degree, 0 }, [4]float64{0.4027, 0.3973, 0.4040, 0.3960}},       // -25 deg/s * 1/15
		{"faded in by steering and demand", func(in *inputs) { in.speed, in.steer, in.yaw = 2, 2.25*degree, 0 }, [4]float64{0.3899, 0.4101, 0.3849, 0.4151}}, // 14.803 deg/s * 0.8504 * 1/2
		{"small demand", func(in *inputs) { in.speed, in.steer, in.yaw = 1.1, 2*degree, -60*degree }, [4]float64{0.4, 0.4, 0.4, 0.4}},                        // 7.477 deg/s
		{"throttle at idle", func(in *inputs) { in.throttle = 0 }, [4]float64{}},
		{"not to be driven", func(in *inputs) { in.drive = false }, [4]float64{}},
		{"near the cap", func(in *inputs) { in.throttle = 0.911015 }, [4]float64{0.8850, 0.9370, 0.8720, 0.95}}, // by a half
		{"at the cap", func(in *inputs) { in.throttle = 1 }, [4]float64{0.95, 0.95, 0.95, 0.95}},
		{"near the floor", func(in *inputs) { in.throttle = 0.088985 }, [4]float64{0.0630, 0.1150, 0.05, 0.1280}}, // by a half
		{"below the floor", func(in *inputs) { in.throttle = 0.03 }, [4]float64{0.03, 0.03, 0.03, 0.03}},
	} {
		t.Run(tt.name, func(t *testing.T) {
			in := turn()
			tt.change(&in)
			got := first(t, in)
			for i := range got {
				assert.InDelta(t, tt.want[i], got[i], 5e-4, "motor %d of %v", i, got)
			}
		})
	}
}

// goOn takes that many turns of the loop.
func goOn(l *law, s *Settings, turns int, in inputs) (command [4]float64) {
	for range turns {
		command = l.step(s, s.LoopPeriod, in)
	}
	return command
}

// The memory grows by 0.5 % of range a second and degree per second.
func TestTheMemoryGrowsWithinItsLimit(t *testing.T) {
	s := Thistle()
	l := law{present: 1}
	goOn(&l, &s, 80, turn())
	assert.InDelta(t, 0.005*32.486*0.2, l.memory, 1e-4, "after 200 ms")
	command := goOn(&l, &s, 400, turn())
	assert.InDelta(t, 0.08, l.memory, 1e-12, "after 1.2 s")
	assert.InDelta(t, 0.4+0.6*(0.12994+0.08), command[rearRight], 1e-4)
	over := turn()
	over.yaw = 2*92.486*degree - over.yaw
	goOn(&l, &s, 400, over)
	assert.InDelta(t, -0.08, l.memory, 1e-9, "the other way in the same time")
}

func TestTheMemoryIsClearedBledAndHeld(t *testing.T) {
	for _, tt := range []struct {
		name   string
		change func(in *inputs)
		want   float64 // of the 8 % that there were, after 100 ms; CALC: (1 - 2.5/200)^40 is 0.6046
	}{
		{"driving on demand", func(in *inputs) { in.yaw = 92.486 * degree }, 0.08},
		{"at low speed", func(in *inputs) { in.speed = 0.99 }, 0},
		{"not yet at low speed", func(in *inputs) { in.speed, in.yaw = 1, 0 }, 0.08},
		{"at gain 0", func(in *inputs) { in.gain = 0 }, 0},
		{"not to be driven", func(in *inputs) { in.drive = false }, 0},
		{"throttle at idle", func(in *inputs) { in.throttle = 0 }, 0.08 * 0.6046},
		{"steering straight ahead", func(in *inputs) { in.steer = 0 }, 0.08 * 0.6046},
		{"yaw rate lost", func(in *inputs) { in.yawPresent = false }, 0},
	} {
		t.Run(tt.name, func(t *testing.T) {
			s := Thistle()
			l := law{present: 1, memory: 0.08}
			in := turn()
			tt.change(&in)
			goOn(&l, &s, 40, in)
			assert.InDelta(t, tt.want, l.memory, 1e-5)
		})
	}
}

// While the yaw rate is on its way out the memory stands.
func TestTheMemoryStandsWhileTheYawRateFades(t *testing.T) {
	s := Thistle()
	l := law{present: 1, memory: 0.05}
	lost := turn()
	lost.yawPresent = false
	goOn(&l, &s, 30, lost)
	assert.Equal(t, 0.05, l.memory)
}

// The shift goes over 100 ms as the yaw rate is lost, and comes back as fast.
func TestTheShiftFadesWithoutAYawRate(t *testing.T) {
	s := Thistle()
	s.Integral = 0
	l := law{present: 1}
	lost := turn()
	lost.yawPresent = false
	shift := func(turns int, in inputs) float64 { return goOn(&l, &s, turns, in)[rearRight] - 0.4 }
	assert.InDelta(t, 0.07797*0.75, shift(10, lost), 1e-4)
	assert.InDelta(t, 0.07797*0.25, shift(20, lost), 1e-4)
	assert.Zero(t, shift(10, lost))
	assert.InDelta(t, 0.07797*0.5, shift(20, turn()), 1e-4)
	assert.InDelta(t, 0.07797, shift(20, turn()), 1e-4)
}

// The sum is kept at every limit, and no motor passes one: the shares stay as they are.
func TestAllFourMotorsAreScaledByTheSameFactor(t *testing.T) {
	s := Thistle()
	for throttle := 0.06; throttle < 0.95; throttle += 0.01 {
		for _, moment := range []float64{-0.3, -0.1, 0.1, 0.3} {
			c := s.mix(throttle, moment)
			assert.InDelta(t, 4*throttle, c[0]+c[1]+c[2]+c[3], 1e-12)
			assert.InDelta(t, 1.5*(c[frontRight]-throttle), c[rearRight]-throttle, 1e-12)
			assert.InDelta(t, throttle-c[frontLeft], c[frontRight]-throttle, 1e-12)
			for _, one := range c {
				assert.LessOrEqual(t, one, s.Cap+1e-12)
				assert.GreaterOrEqual(t, one, s.Floor-1e-12)
			}
		}
	}
}

// From memory: the catalogue of parametrised CRC algorithms gives CRC-16/IBM-3740 the check value
// 0x29B1.
func TestChecksumOfTheYawFrames(t *testing.T) {
	assert.Equal(t, uint16(0x29B1), crc([]byte("123456789")))
}

// The word for 1046 is from memory, of public descriptions of such frames; the others CALC by hand.
func TestWordsOfTheFrames(t *testing.T) {
	assert.Equal(t, uint16(0b1000001011000110), wordOf(998.0/1999))
	assert.Equal(t, uint16(0), wordOf(0), "stop")
	assert.Equal(t, uint16(0x0606), wordOf(1e-9), "48")
	assert.Equal(t, uint16(0xFFEE), wordOf(1), "2047")
}

func TestSettingsThatCannotBe(t *testing.T) {
	for _, change := range []func(s *Settings){
		func(s *Settings) { *s = Settings{} },
		func(s *Settings) { s.Compute = s.LoopPeriod },
		func(s *Settings) { s.GainChannel = 17 },
		func(s *Settings) { s.FadeTo = s.FadeFrom },
		func(s *Settings) { s.Floor = s.Cap },
	} {
		s := Thistle()
		change(&s)
		_, err := New(s, signal.Layout{}, 1)
		assert.ErrorContains(t, err, "its settings need")
	}
}
