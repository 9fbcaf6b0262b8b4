package board

import "hilrig/rig/signal"

// yawSensor is what the firmware believes of the yaw-rate sensor. Raw values
// are in 1/16 deg/s, or with a format of their own in yawUnit.
type yawSensor struct {
	jump     int32 // a larger change needs the next frame to confirm it
	agree    int32 // within this the next frame confirms it; at most jump
	believes bool  // seeded fault: jumps are believed at once

	apart signal.Time // frames farther apart have not gone on: one of them was lost

	value   int32       // believed
	at      signal.Time // of the last good frame
	seen    bool
	raw     int32       // of the last good frame
	changed signal.Time // when raw last changed
	count   uint64      // of the last good frame, as its sequence counter has it
	counts  bool        // good frames have one
	counted signal.Time // when it last changed
}

// update takes in the yaw rate of a good frame, complete at the given time.
func (y *yawSensor) update(v int16, at signal.Time) { y.updateRaw(int32(v), at) }

// updateRaw does so with a value of any size.
func (y *yawSensor) updateRaw(raw int32, at signal.Time) {
	last := y.raw
	if !y.goesOn(at) || raw != last {
		y.changed = at
	}
	y.raw, y.at = raw, at
	if !y.seen || y.believes || distance(raw, y.value) <= y.jump || distance(raw, last) <= y.agree {
		y.value = raw
	}
	y.seen = true
}

// goesOn reports whether a good frame at the given time follows on the last one.
func (y *yawSensor) goesOn(at signal.Time) bool { return y.seen && at-y.at <= y.apart }

// sequence takes in the counter of a good frame; update follows.
func (y *yawSensor) sequence(count uint64, at signal.Time) {
	if !y.goesOn(at) || count != y.count {
		y.count, y.counted = count, at
	}
	y.counts = true
}

// counterStands reports whether frames have gone on for limit with the same count.
func (y *yawSensor) counterStands(limit signal.Time) bool {
	return y.seen && y.counts && y.at-y.counted >= limit
}

// fresh reports whether the last good frame is at most limit old.
func (y *yawSensor) fresh(now, limit signal.Time) bool {
	return y.seen && now-y.at <= limit
}

// frozen reports whether frames have gone on for limit with the same bits.
func (y *yawSensor) frozen(limit signal.Time) bool {
	return y.seen && y.at-y.changed >= limit
}

func (y *yawSensor) restart() {
	*y = yawSensor{jump: y.jump, agree: y.agree, believes: y.believes, apart: y.apart}
}

func distance(a, b int32) int32 { return max(a-b, b-a) }
