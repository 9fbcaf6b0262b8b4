package law

import (
	"maps"
	"slices"
)

// leaveOut is how each key of a car file's policy is left out.
var leaveOut = map[string]func(p *Policy){
	"demand":              func(p *Policy) { p.Demand = nil },
	"turn_from":           func(p *Policy) { p.TurnFrom = 0 },
	"opposite_lock":       func(p *Policy) { p.OppositeLock, p.OppositeLockShare = 0, 0 },
	"opposite_lock_share": func(p *Policy) { p.OppositeLockShare = 0 },
	"understeer":          func(p *Policy) { p.Understeer = nil },
	"oversteer":           func(p *Policy) { p.Oversteer = nil },
	"shift_at":            func(p *Policy) { p.ShiftAt = nil },
	"dead_shift":          func(p *Policy) { p.DeadShift = 0 },
	"dead_band":           func(p *Policy) { p.DeadBand = nil },
	"straight":            func(p *Policy) { p.Straight, p.Unsaid = nil, p.Unsaid|UnsaidStraight },
	"gain_steps":          func(p *Policy) { p.GainSteps, p.Unsaid = nil, p.Unsaid|UnsaidGainSteps },
	"sum":                 func(p *Policy) { p.SumKept = false },
	"cap":                 func(p *Policy) { p.Cap = nil },
	"sum_cap":             func(p *Policy) { p.SumCap = nil },
	"floor":               func(p *Policy) { p.Floor = nil },
	"at_the_limit":        func(p *Policy) { p.AtTheLimit = 0 },
	"at_the_cap":          func(p *Policy) { p.AtTheCap = 0 },
	"at_the_floor":        func(p *Policy) { p.AtTheFloor = 0 },
	"traction_control":    func(p *Policy) { p.TractionControl = nil },
	"standstill":          func(p *Policy) { p.Standstill = nil },
	"braking":             func(p *Policy) { p.Braking = 0 },
	"reverse":             func(p *Policy) { p.Reverse = 0 },
	"smoothing":           func(p *Policy) { p.Smoothing = nil },
	"throttle_curve":      func(p *Policy) { p.ThrottleCurve = 0 },
	"loop_rate":           func(p *Policy) { p.LoopRate = nil },
	"response":            func(p *Policy) { p.Response = nil },
	"longest_gap":         func(p *Policy) { p.LongestGap = nil },
	"corrupt_frames":      func(p *Policy) { p.CorruptFrames = nil },
	"throttle_lost":       func(p *Policy) { p.ThrottleLost = nil },
	"steer_lost":          func(p *Policy) { p.SteerLost = nil },
	"gain_lost":           func(p *Policy) { p.GainLost = nil },
	"receiver_lost":       func(p *Policy) { p.ReceiverLost = nil },
	"receiver_flag":       func(p *Policy) { p.ReceiverFlag = nil },
	"yaw_lost":            func(p *Policy) { p.YawLost = nil },
	"yaw_frozen":          func(p *Policy) { p.YawFrozen = nil },
	"sequence_frozen":     func(p *Policy) { p.SequenceFrozen = nil },
	"encoder_lost":        func(p *Policy) { p.EncoderLost = nil },
	"bad_checksum":        func(p *Policy) { p.BadChecksum = 0 },
	"bad_pulse":           func(p *Policy) { p.BadPulse = 0 },
	"spike":               func(p *Policy) { p.Spike = nil },
	"recovers":            func(p *Policy) { p.Recovers = 0 },
	"safe_state":          func(p *Policy) { p.SafeState = 0 },
	"start":               func(p *Policy) { p.StartState = 0 },
	"start_waits_for":     func(p *Policy) { p.StartWaitsFor = nil },
	"start_at_rest":       func(p *Policy) { p.StartAtRest = nil },
	"arms":                func(p *Policy) { p.Arms = 0 },
	"outputs_together":    func(p *Policy) { p.OutputsTogether = nil },
	"motors_equal_within": func(p *Policy) { p.MotorsEqualWithin = nil },
	"resolution":          func(p *Policy) { p.Resolution = nil },
	"drives_better":       func(p *Policy) { p.DrivesBetter = false },
}

// Keys lists the keys of a car file's policy by the alphabet. The slice is the caller's.
func Keys() []string { return slices.Sorted(maps.Keys(leaveOut)) }

// Without returns a policy that leaves a key of a car file out and says the rest; p itself does
// not change. A name that is no key leaves nothing out.
func (p *Policy) Without(key string) Policy {
	out := *p
	if leave := leaveOut[key]; leave != nil {
		leave(&out)
	}
	return out
}

// Loosened returns a policy that rules no command out by a key of a car file, and says the rest; p itself does
// not change. It is the one without the key, but for one that only allows something: a policy without traction
// control does not let a board cut a motor, and one that is loosened has it cut at any speed of a wheel.
func (p *Policy) Loosened(key string) Policy {
	if key == "traction_control" && p.TractionControl != nil {
		out := *p
		out.TractionControl = new(atAnySpeed)
		return out
	}
	return p.Without(key)
}

// atAnySpeed is a share of its speed by which every wheel is faster than the slowest.
const atAnySpeed = -1.0
