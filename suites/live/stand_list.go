package live

import (
	"fmt"
	"math"
	"slices"

	"hilrig/rig/interlock"
	"hilrig/rig/raspberry/preflight"
	"hilrig/suites/file"
)

// StandList returns what has to be so before a stand goes live, sentence by sentence: each for a
// person to see to, none for the program. Whatever the file allows beyond what goes without saying
// is among it.
func StandList(s *file.Stand) []string {
	if !Watched(s.Power) {
		return []string{
			"The motor has no supply: its lead is pulled off and lies apart. A switch alone does not do.",
			"Nothing on the stand gets hot or moves without the motor's supply.",
		}
	}
	list := onTheShaft(s)
	if s.Turns() {
		list = append(list, spins(s)...)
	}
	if slices.ContainsFunc(s.Held, func(h file.HeldCondition) bool { return h.Kind == file.Locked }) {
		list = append(list, "The shaft is locked by something that bears the motor's full torque. A locked motor, its controller and their leads get hot within seconds: nobody touches them, and nothing that burns is near.")
	}
	if s.LoadCell != nil {
		list = append(list, "The lever arm rests on the load cell and cannot slip off. It may strike with all that the motor pulls, either way: hands and face are out of its way.")
	}
	first, _ := preflight.FirstTurn(s.Interlock.MotorLimit)
	list = append(list,
		"The stand is clamped to something that does not move at the motor's full torque, and the motor is bolted to the stand.",
		fmt.Sprintf("The throttle goes up to %.3g %% of range (motor_limit), which the motor, its controller and whatever is on the shaft bear.", 100*Limit(s.Interlock.MotorLimit)),
		fmt.Sprintf("The motor turns first at %.3g %%, and no more before it was seen to turn ahead: you look which way, the stop button within reach.", 100*first),
		"The pack or supply on the bench has a fuse, and its leads bear the current of a locked motor.")
	return append(list, powered...)
}

// onTheShaft is what the power level says of the shaft.
func onTheShaft(s *file.Stand) []string {
	switch {
	case s.Power == interlock.WheelsOffGround:
		return []string{"The wheel on the shaft hangs free, is tight on its hub, and touches nothing when it turns at full speed."}
	case s.Disc == nil:
		return []string{"No wheel and no disc is on the motor's shaft: nothing on it can fly off or catch."}
	}
	return []string{"No wheel is on the motor's shaft, and the disc on it is tight, balanced and without a crack."}
}

// spins is what holds where a shaft turns.
func spins(s *file.Stand) (list []string) {
	if d := s.Disc; d != nil {
		list = append(list, fmt.Sprintf("What turns on the shaft is rated for %s or more, by its maker and not by guess. A guard that would hold its pieces stands round it, and nobody is in its plane.", turns(d.Rated)))
		if by, reckoning := s.Overshoot(); s.StopAt.Speed != nil && by > 0 {
			list = append(list, fmt.Sprintf("The run ends at idle at %s (stop_at), and the speed may go %.0f rad/s beyond (%s).", turns(*s.StopAt.Speed), by, reckoning))
		}
	}
	return append(list, "Idle is not rest: the shaft turns on. You reach for it only when it stands still and you have pulled the supply by hand.")
}

// turns writes a speed for people with either unit.
func turns(speed float64) string {
	return fmt.Sprintf("%.0f rpm (%.0f rad/s)", speed*60/(2*math.Pi), speed)
}
