package board

import "hilrig/rig/signal"

// The seeded faults that show in single motor frames alone: every mean over a hold is what it should be.
const (
	frameTooHigh fault = fault(len(seeded)+len(seededAtPlaces)+len(seededInTime)) + iota
	recoveryOvershoot
	zeroAtBranch
)

// seededInFrames lists them in the order of the constants, sorted by name.
var seededInFrames = [...]Fault{
	{"frame_too_high", "One motor frame in a hundred carries commands a fifth too high.", "throttle_curve"},
	{"recovery_overshoot", "As the loss of the yaw rate ends, the shift is three times too large for 40 ms.", "yaw_lost"},
	{"zero_at_branch", "Where the shift goes over from some motors to others, one frame commands none of them.", "understeer"},
}

// The faults' constants.
const (
	highEvery    = 100
	tooHighBy    = 1.2
	overshoots   = 3
	overshootFor = 40 * signal.Millisecond
	clearShift   = 0.02 // share of range
)

// inFrames is what these faults remember.
type inFrames struct {
	sent      int         // frames, since power-up
	moved     signs       // whom the last clear shift moved, and which way
	zero      bool        // the next frame commands none
	yawLost   bool        // in the last turn
	overshoot signal.Time // until then
}

// flawed returns the amount of a shift that moves who, as one of these faults makes it.
func (b *BuiltIn) flawed(now signal.Time, who signs, amount float64) float64 {
	t := &b.inFrames
	if amount > clearShift {
		moved := who.senses()
		t.zero = t.zero || b.has(zeroAtBranch) && t.moved != (signs{}) && moved != t.moved
		t.moved = moved
	}
	lost := b.failsafe.tripped[YawLost]
	if t.yawLost && !lost && b.has(recoveryOvershoot) {
		t.overshoot = now + overshootFor
	}
	if t.yawLost = lost; now < t.overshoot {
		amount *= overshoots
	}
	return amount
}

// spoilt returns the commands of a frame as one of these faults makes them.
func (b *BuiltIn) spoilt(command [4]float64) [4]float64 {
	t := &b.inFrames
	t.sent++
	if t.zero {
		t.zero = false
		return [4]float64{}
	}
	if b.has(frameTooHigh) && t.sent%highEvery == 0 {
		for i := range command {
			command[i] = min(command[i]*tooHighBy, 1)
		}
	}
	return command
}
