package live

import (
	"errors"
	"fmt"
	"math"
	"slices"

	"hilrig/rig/decode"
	"hilrig/rig/interlock"
	"hilrig/rig/raspberry/pinout"
	"hilrig/rig/raspberry/preflight"
	"hilrig/suites/file"
)

// MayPlay says why a stand may not be played where a motor can have its supply, nil where it may.
// What a person has to confirm is [StandList], what the motor is held to from then on [StandFirst]
// and [Limit].
func MayPlay(s *file.Stand) error {
	first, limit := StandFirst(s), Limit(s.Interlock.MotorLimit)
	switch {
	case s.CSV != nil:
		return errors.New("a dynamometer's file is judged without a stand; leave out --bank and kind: raspberry")
	case s.Power >= interlock.Powers:
		return fmt.Errorf("the motor is powered at no level that hilrig knows, %v; write motors_powered: motors_no_wheels or wheels_off_ground", s.Power)
	case s.Power == interlock.SignalsOnly:
		return errors.New("the motor has no supply at signals_only, and nothing of it can be measured; write motors_powered: motors_no_wheels, or wheels_off_ground where a wheel is on the shaft, once relay, heartbeat and stop contact are wired and hilrig ready has tried them")
	case s.Turns() && s.Disc == nil:
		return errors.New("the motor is to turn, and the file does not say what the wheel or disc on its shaft is rated for; write disc: {rated: …, acceleration: …}")
	}
	if most := mostCommanded(s); most > limit {
		return fmt.Errorf("the plan goes up to %.3g %% of throttle, and motor_limit is %.3g %%; write a higher motor_limit under interlock once the stand can bear it, or plan lower levels", 100*most, 100*limit)
	}
	for _, hold := range s.Throttle.Arm {
		if math.Abs(hold.Level) > first {
			return fmt.Errorf("the arming sequence goes to %.3g %% before the motor was seen to turn at %.3g %%; teach the controller its range by hand, with the motor's supply limited, and leave that out of arm", 100*hold.Level, 100*first)
		}
	}
	return tooFast(s)
}

// mostCommanded returns the largest command of the plan either way, a share of full.
func mostCommanded(s *file.Stand) (most float64) {
	p := &s.Plan
	for _, level := range p.Levels {
		most = max(most, math.Abs(level))
	}
	if len(p.FineSteps) > 0 {
		for _, at := range p.FineAt {
			most = max(most, math.Abs(at)+slices.Max(p.FineSteps))
		}
	}
	if p.Step != nil {
		most = max(most, math.Abs(p.Step.From), math.Abs(p.Step.To))
	}
	return most
}

// tooFast says why what is on the shaft could be turned faster than it is rated for.
func tooFast(s *file.Stand) error {
	if !s.Turns() {
		return nil
	}
	by, reckoning := s.Overshoot()
	switch rated := s.Disc.Rated; {
	case s.StopAt.Speed == nil:
		return fmt.Errorf("what is on the shaft is rated for %s, and stop_at bounds no speed; write stop_at: {speed: %.0f rad/s} or less", turns(rated), math.Floor(rated-by))
	case *s.StopAt.Speed+by > rated:
		return fmt.Errorf("the run would end at idle at %s, and the speed may go %.0f rad/s beyond (%s): that is more than the %s that what is on the shaft is rated for; lower stop_at: speed", turns(*s.StopAt.Speed), by, reckoning, turns(rated))
	}
	return nil
}

// StandFirst returns the share of full command at which a stand's motor turns first, and beyond
// which nothing is sent until it was seen to turn.
func StandFirst(s *file.Stand) float64 {
	first, _ := preflight.FirstTurn(s.Interlock.MotorLimit)
	return first
}

// CanSend says why a model cannot send the commands of a stand, nil where it can. The kernel's
// character device sets lines in about two microseconds (warthog618/go-gpiocdev, README), longer
// than the bits of the digital formats.
func CanSend(model pinout.Model, kind decode.MotorKind) error {
	if model.Limits().Access == pinout.CharacterDevice && kind.Digital() {
		return fmt.Errorf("%v cannot be sent by a %v: its lines are set by calls of the kernel that take longer than a bit; have the controller take pulses, or use a Pi 3B+ or 4B", kind, model)
	}
	return nil
}
