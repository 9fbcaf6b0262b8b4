package live

import (
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"hilrig/rig/decode"
	"hilrig/rig/interlock"
	"hilrig/rig/raspberry/pinout"
	"hilrig/rig/signal"
	"hilrig/suites/demo"
	"hilrig/suites/file"
	"hilrig/suites/language"
)

// poweredStand is the demo's stand with its motor powered and its throttle let up to full.
func poweredStand(t testing.TB) *file.Stand {
	s, err := file.ParseStand(language.Source{Path: demo.StandPath, Data: demo.StandYAML}, nil)
	require.NoError(t, err)
	s.Power, s.Interlock.MotorLimit = interlock.MotorsNoWheels, 1
	return s
}

func TestWhichStandsMayBePlayed(t *testing.T) {
	share := func(x float64) *float64 { return &x }
	for _, test := range []struct {
		name  string
		fault func(s *file.Stand)
		says  string // empty: it may
	}{
		{"as it should be", func(*file.Stand) {}, ""},
		{"a wheel off the ground", func(s *file.Stand) { s.Power = interlock.WheelsOffGround }, ""},
		{"signals only", func(s *file.Stand) { s.Power = interlock.SignalsOnly }, "the motor has no supply at signals_only, and nothing of it can be measured; write motors_powered: motors_no_wheels"},
		{"no level", func(s *file.Stand) { s.Power = interlock.Powers }, "power level 3; write motors_powered: "},
		{"a file", func(s *file.Stand) { s.CSV = &file.Dynamometer{} }, "a dynamometer's file is judged without a stand"},
		{"no rating", func(s *file.Stand) { s.Disc = nil }, "does not say what the wheel or disc on its shaft is rated for"},
		{"locked, no rating", func(s *file.Stand) { s.Disc, s.Held = nil, []file.HeldCondition{{Kind: file.Locked}} }, ""},
		{"no limit", func(s *file.Stand) { s.Interlock.MotorLimit = 0 }, "the plan goes up to 100 % of throttle, and motor_limit is 25 %; write a higher motor_limit"},
		{"below the plan", func(s *file.Stand) { s.Interlock.MotorLimit = 0.99 }, "and motor_limit is 99 %"},
		{"no limit, and low levels", func(s *file.Stand) { s.Interlock.MotorLimit, s.Plan = 0, file.StandPlan{Levels: []float64{0, 0.25}} }, ""},
		{"backwards beyond", func(s *file.Stand) {
			s.Interlock.MotorLimit, s.Plan = 0, file.StandPlan{Levels: []float64{-0.5, 0.25}}
		}, "the plan goes up to 50 %"},
		{"small changes beyond", func(s *file.Stand) {
			s.Interlock.MotorLimit, s.Plan = 0, file.StandPlan{Levels: []float64{0.2}, FineAt: []float64{0.24}, FineSteps: []float64{0.01, 0.02}}
		}, "the plan goes up to 26 %"},
		{"a step beyond", func(s *file.Stand) {
			s.Interlock.MotorLimit, s.Plan = 0, file.StandPlan{Levels: []float64{0.2}, Step: &file.ThrottleStep{From: 0.1, To: 0.6}}
		}, "the plan goes up to 60 %"},
		{"armed by full throttle", func(s *file.Stand) { s.Throttle.Arm = []file.ThrottleHold{{Level: 1, For: signal.Second}} }, "the arming sequence goes to 100 % before the motor was seen to turn at 10 %"},
		{"armed within the first turn", func(s *file.Stand) { s.Throttle.Arm = []file.ThrottleHold{{Level: 0.1, For: signal.Second}} }, ""},
		{"no bound of speed", func(s *file.Stand) { s.StopAt.Speed = nil }, "stop_at bounds no speed"},
		{"a bound at the rating", func(s *file.Stand) { s.StopAt.Speed = &s.Disc.Rated }, "that is more than the 8594 rpm (900 rad/s) that what is on the shaft is rated for; lower stop_at: speed"},
		// 800 rad/s2 over 100 ms of silence, two ticks, 2.5 ms of a frame and 20 ms of a relay: 99.6 rad/s (CALC).
		{"less than the overshoot below it", func(s *file.Stand) { s.StopAt.Speed = share(900 - 99) }, "the speed may go 100 rad/s beyond"},
		{"more than the overshoot below it", func(s *file.Stand) { s.StopAt.Speed = share(900 - 100) }, ""},
	} {
		t.Run(test.name, func(t *testing.T) {
			s := poweredStand(t)
			test.fault(s)
			err := MayPlay(s)
			if test.says == "" {
				require.NoError(t, err)
				return
			}
			require.ErrorContains(t, err, test.says)
			assert.Contains(t, err.Error(), "; ", "it says what to do")
		})
	}
}

// A first turn is 10 %, and less where the owner lets the motor have less.
func TestAMotorTurnsFirstByATenth(t *testing.T) {
	s := poweredStand(t)
	assert.InDelta(t, 0.10, StandFirst(s), 1e-12)
	s.Interlock.MotorLimit = 0.12
	assert.InDelta(t, 0.06, StandFirst(s), 1e-12)
	s.Interlock.MotorLimit = 0
	assert.InDelta(t, 0.10, StandFirst(s), 1e-12)
}

func TestWhoCanSendWhichCommands(t *testing.T) {
	for kind := range decode.MotorKinds {
		for _, model := range pinout.Models {
			err := CanSend(model, kind)
			assert.Equal(t, model == pinout.Pi5 && kind.Digital(), err != nil, "%v %v", model, kind)
		}
	}
	assert.ErrorContains(t, CanSend(pinout.Pi5, decode.DShot300), "dshot300 cannot be sent by a Pi 5")
	of := OfStand(poweredStand(t))
	of.Formats[0] = decode.DShot300
	_, _, err := Pinned(of, pinout.Pi5)
	assert.ErrorContains(t, err, "dshot300 cannot be sent by a Pi 5")
}

// What a stand adds to the dangers of a bench stands in the list, with the file's own numbers.
func TestTheListNamesAStandsOwnDangers(t *testing.T) {
	has := func(s *file.Stand, words string) bool {
		return strings.Contains(strings.Join(StandList(s), "\n"), words)
	}
	s := poweredStand(t)
	for _, words := range []string{
		"No wheel is on the motor's shaft, and the disc on it is tight", "rated for 8594 rpm (900 rad/s) or more", "A guard that would hold its pieces",
		"ends at idle at 5252 rpm (550 rad/s) (stop_at), and the speed may go 100 rad/s beyond", "Idle is not rest",
		"up to 100 % of range (motor_limit)", "The motor turns first at 10 %", "The pack or supply on the bench has a fuse",
		"You can pull the motors' supply by hand", "You have opened the stop contact by hand today", "A lithium pack is undamaged",
	} {
		assert.True(t, has(s, words), words)
	}
	assert.False(t, has(s, "lever arm") || has(s, "locked by something") || has(s, "The car"), "what is not there is not asked")
	s.Power = interlock.WheelsOffGround
	assert.True(t, has(s, "The wheel on the shaft hangs free"))
	s.Power, s.Disc, s.LoadCell, s.Held = interlock.MotorsNoWheels, nil, &file.LoadCell{}, []file.HeldCondition{{Kind: file.Locked}}
	for _, words := range []string{"No wheel and no disc is on the motor's shaft", "The shaft is locked by something that bears", "The lever arm rests on the load cell"} {
		assert.True(t, has(s, words), words)
	}
	assert.False(t, has(s, "guard") || has(s, "Idle is not rest"))
	s.Interlock.MotorLimit = 0
	assert.True(t, has(s, "up to 25 % of range"))
	s.Power = interlock.SignalsOnly
	assert.True(t, has(s, "The motor has no supply"))
	assert.False(t, has(s, "first at"))
}

// How the motor turned says nothing once its line is on another pin or its commands are others.
func TestAStandsWiringIsKnownAgain(t *testing.T) {
	s := poweredStand(t)
	was := OfStand(s).Motors
	assert.Equal(t, was, OfStand(poweredStand(t)).Motors)
	s.Pins = map[string]int{"throttle_command": 23}
	assert.NotEqual(t, was, OfStand(s).Motors)
	s = poweredStand(t)
	s.Throttle.Motor.Servo.Full++
	assert.NotEqual(t, was, OfStand(s).Motors)
	assert.Zero(t, OfStand(s).reset(), "no board is restarted")
}
