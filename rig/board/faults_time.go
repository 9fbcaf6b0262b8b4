package board

import (
	"math"

	"hilrig/rig/signal"
)

// The seeded faults that show in time: late or for a moment, after a loss, after something that was driven,
// or once a counter has overflowed.
const (
	counterIgnored fault = fault(len(seeded)+len(seededAtPlaces)) + iota
	gainLossFull
	latchedByFull
	latchedByReverse
	loopStalls
	microsOverflow
	millisOverflow
	motorHalfRate
	rearLate
	rearVeryLate
	recoveryKick
	resetsAtFull
	shiftGoneLater
	shortPulseBelieved
	slowRelease
	slowSpeedFilter
	updatesPause
	yawInvertsLater
	yawLossMasks
)

// seededInTime lists them, sorted by name.
var seededInTime = [...]Fault{
	{"counter_ignored", "A yaw-rate sensor whose frames are no longer counted on is believed.", "sequence_frozen"},
	{"gain_loss_full", "When the pulse of the gain trim is lost, the gain is read as full.", "gain_lost"},
	{"latched_by_full", "After full throttle no torque is shifted until the next power-up.", "understeer"},
	{"latched_by_reverse", "Once the car has rolled backwards, no torque is shifted until the next power-up.", "understeer"},
	{"loop_stalls", "Once a second the control loop stands still for 60 ms, and the last commands go on.", "response"},
	{"micros_overflow", "The 32-bit counter of microseconds overflows after 71.6 minutes, and the loop waits for a time that it never reaches.", "understeer"},
	{"millis_overflow", "The 16-bit counter of milliseconds overflows after 65.5 s, and the throttle is taken for lost for a tenth of a second.", "throttle_curve"},
	{"motor_half_rate", "The front right motor is sent every second command only.", "longest_gap"},
	{"rear_late", "The rear motors are sent their commands 4 ms after the front ones.", "outputs_together"},
	{"rear_very_late", "The rear motors are sent their commands 12 ms after the front ones.", "outputs_together"},
	{"recovery_kick", "As a failsafe ends, all motors run at full throttle for 50 ms.", "recovers"},
	{"resets_at_full", "After a second of full throttle the supply sags, and the board resets.", "longest_gap"},
	{"shift_gone_later", "After 300 s torque is no longer shifted.", "understeer"},
	{"short_pulse_believed", "A steering pulse of 300 us is taken for a steer angle.", "bad_pulse"},
	{"slow_release", "Throttle that is let go comes down over half a second.", "response"},
	{"slow_speed_filter", "The speed runs through a filter of 0.2 s.", "response"},
	{"updates_pause", "Once a second no motor is sent a command for 20 ms.", "longest_gap"},
	{"yaw_inverts_later", "After 400 s the yaw rate is taken with the wrong sign.", "understeer"},
	{"yaw_loss_masks", "While yaw frames are lost, the loss of the throttle goes unnoticed.", "throttle_lost"},
}

// The faults' constants.
const (
	kickFor      = 50 * signal.Millisecond
	fullFor      = signal.Second
	bootsFor     = 200 * signal.Millisecond
	shiftGoneIn  = 300 * signal.Second
	yawInvertsIn = 400 * signal.Second
	pauseFor     = 20 * signal.Millisecond
	stallFor     = 60 * signal.Millisecond
	releaseIn    = 500 * signal.Millisecond
	speedLag     = 200 * signal.Millisecond
	overflowFor  = 100 * signal.Millisecond
	millisRange  = 1 << 16 * signal.Millisecond
	microsRange  = 1 << 32 * signal.Microsecond
	fullThrottle = 0.98
)

// showLate are those that show no sooner than after minutes.
var showLate = map[string]signal.Time{"micros_overflow": microsRange, "shift_gone_later": shiftGoneIn, "yaw_inverts_later": yawInvertsIn}

// ShowsAfter returns how long the board has to have run before a seeded fault shows, where that is minutes; else 0.
func ShowsAfter(name string) signal.Time { return showLate[name] }

// inTime is what these faults remember.
type inTime struct {
	powered  signal.Time // the counters began at 0
	full     signal.Time // full throttle since, 0: it is not
	latched  bool        // no shift any more
	tripped  bool        // a failsafe was in the last turn
	kicks    signal.Time // until then
	throttle float64     // as let go so far
	speed    float64     // m/s, filtered
}

// since returns how long the board has run.
func (b *BuiltIn) since(now signal.Time) signal.Time { return now - b.inTime.powered }

// seedOutputs sets what these faults change of the outputs.
func (b *BuiltIn) seedOutputs() {
	x := &b.settings.Shaping
	if b.has(rearLate) {
		x.Delay[rearLeft], x.Delay[rearRight] = 4*signal.Millisecond, 4*signal.Millisecond
	}
	if b.has(rearVeryLate) {
		x.Delay[rearLeft], x.Delay[rearRight] = 12*signal.Millisecond, 12*signal.Millisecond
	}
	if b.has(motorHalfRate) {
		x.Every[frontRight] = 2
	}
}

// stands reports whether the control loop does not turn.
func (b *BuiltIn) stands(now signal.Time) bool {
	since := b.since(now)
	return b.has(loopStalls) && since%signal.Second < stallFor || b.has(microsOverflow) && since > microsRange
}

// paused reports whether no commands are sent.
func (b *BuiltIn) paused(now signal.Time) bool {
	return b.has(updatesPause) && b.since(now)%signal.Second < pauseFor
}

// mistimed changes what was read of the inputs.
func (b *BuiltIn) mistimed(now signal.Time, x *situation) {
	t := &b.inTime
	if b.has(yawInvertsLater) && b.since(now) > yawInvertsIn {
		x.yaw = -x.yaw
	}
	if b.has(slowSpeedFilter) {
		t.speed += float64((x.speed - t.speed) * part(b.settings.LoopPeriod, speedLag))
		x.speed = t.speed
	}
	if b.has(slowRelease) {
		t.throttle = max(x.throttle, t.throttle-b.settings.LoopPeriod.Seconds()/releaseIn.Seconds())
		x.throttle = t.throttle
	}
	if b.has(gainLossFull) && !b.gain.fresh(now, b.settings.GainTimeout) {
		x.gain = 1
	}
}

// mistaken changes what is taken for lost.
func (b *BuiltIn) mistaken(now signal.Time, lost *[Losses]bool) {
	if b.has(counterIgnored) {
		lost[SequenceFrozen] = false
	}
	if b.has(gainLossFull) {
		lost[GainLost] = false
	}
	if b.has(yawLossMasks) && lost[YawLost] {
		lost[ThrottleLost] = false
	}
	if b.has(millisOverflow) && b.since(now) > millisRange && b.since(now)%millisRange < overflowFor {
		lost[ThrottleLost] = true
	}
}

// outlived changes what is decided of the shift, by what was driven before.
func (b *BuiltIn) outlived(now signal.Time, x *situation, shift bool) bool {
	t := &b.inTime
	t.latched = t.latched || b.has(latchedByReverse) && x.speed < -b.settings.Standstill || b.has(latchedByFull) && x.throttle >= fullThrottle
	return shift && !t.latched && !(b.has(shiftGoneLater) && b.since(now) > shiftGoneIn)
}

// kicked changes the commands as a failsafe ends.
func (b *BuiltIn) kicked(now signal.Time, command [4]float64) [4]float64 {
	t := &b.inTime
	tripped := b.failsafe.tripped != [Losses]bool{}
	if t.tripped && !tripped && b.has(recoveryKick) {
		t.kicks = now + kickFor
	}
	if t.tripped = tripped; now < t.kicks {
		return [4]float64{1, 1, 1, 1}
	}
	return command
}

// resets reports whether the supply has sagged under full throttle.
func (b *BuiltIn) resets(now signal.Time) bool {
	t := &b.inTime
	s := &b.settings
	if !b.has(resetsAtFull) || math.Abs(b.throttle.share(s.ThrottleIdle, s.ThrottleFull, s.lowest())) < fullThrottle {
		t.full = 0
		return false
	}
	if t.full == 0 {
		t.full = now
	}
	return now-t.full > fullFor
}
