package moment

import "hilrig/rig/signal"

// kickFor is how long the seeded fault recovery_kick lasts.
const kickFor = 50 * signal.Millisecond

// inTime is what the seeded faults that show in time remember.
type inTime struct {
	past   [2][4]float64 // the commands of the last two turns, the older first
	driven bool          // the motors turned since power-up
	drive  bool          // they might in the last turn
	kicks  signal.Time   // until then
}

// sent returns what the motors are sent for the commands that a turn of the loop worked out.
func (t *inTime) sent(at signal.Time, s *Settings, drive bool, command [4]float64) [4]float64 {
	if drive && !t.drive && t.driven && s.has(recoveryKick) {
		t.kicks = at + kickFor
	}
	t.drive, t.driven = drive, t.driven || drive
	if at < t.kicks {
		command = [4]float64{1, 1, 1, 1}
	}
	late := t.past[0]
	t.past[0], t.past[1] = t.past[1], command
	if s.has(rearLate) {
		command[rearLeft], command[rearRight] = late[rearLeft], late[rearRight]
	}
	return command
}
