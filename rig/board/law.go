package board

import "hilrig/rig/signal"

// Law holds what firmware of other schools does than that of the demo car. The zero value is
// the demo car's way.
type Law struct {
	// The demand.
	SpeedFrom SpeedFrom   // "": the mean
	YawLimit  float64     // rad/s that the demand does not pass; 0: none
	SteerLead signal.Time // this times the steering's speed goes into the demand as steer does; below 0 the wrong way round

	// The size of the shift.
	Grows     Growth
	Most      float64     // share of range: the bound of a shift that saturates or integrates
	GrowsIn   signal.Time // in which an integrating shift gets as large as a proportional one would be
	WholeBand bool        // beyond DeadBand the shift is in proportion to the whole error
	DeadShift float64     // share of range: no larger shift is none
	GainSteps []float64   // shares, ascending: the gain is the nearest of them; none: as it comes
	GainEdges []float64   // shares, ascending, one less than GainSteps: from each of them on it is the next step; none: from the middle
	// DerivativeTime multiplied by how fast the yaw error changes is added to the error, behind a low-pass of four turns; below 0 it is taken off.
	DerivativeTime signal.Time
	OppositeShare  float64 // of what oversteer asks for, for the word OppositeLockShare
	Straight       Straight
	StandFull      float64 // m/s from which the shift is whole; up to Standstill there is none

	// Limits.
	CapAfterShift    bool // the throttle is not cut at the cap before the shift is added
	AtCap, AtFloor   AtTheLimit
	SumCap           float64 // of the four commands, in ranges of one motor; 0: none
	SumScaled        bool    // the commands are scaled to SumCap; else the same is taken off each
	Traction         Traction
	NoShiftInBraking bool        // no shift while the throttle is below idle,
	BrakesFrom       float64     // by more than this share,
	AfterBraking     signal.Time // and for this long after that
	Reverse          Reverse     // "": no shift
	BothWays         bool        // the throttle goes down to -1, and so do the commands

	// Between throttle and command.
	ThrottleBend float64    // 0: none, up to 1: by this much less at half the throttle, as x less bend x (1 - x)
	ThrottleDead float64    // share of the throttle around idle that stands for none, in place of a bend; 0: none does
	KeepsTurning bool       // beyond that the motors are commanded to the floor at least
	Trim         [4]float64 // share by which a motor gets more than its command
	Step         float64    // share of range: commands are whole numbers of it; 0: as fine as the wire

	// Losses and the start.
	Endings         [Losses]Ending
	GainValue       float64     // that a lost gain stands at, with the ending GainAtValue
	ReceiverTimeout signal.Time // all three channels; 0: each for itself
	FlagTimeout     signal.Time // frames of the bus with the failsafe flag set; 0: such frames are dropped
	SequenceTimeout signal.Time // frames whose sequence counter stands still; 0: nobody looks at it
	StartsWithout   Absent      // after power-up it drives although these have not been there
	AtRestFor       signal.Time // how long it has to stand still after power-up, before it drives
	ArmsAtIdle      bool        // after power-up it drives once the throttle was at idle
}

// Absent are inputs that the board need not have seen.
type Absent struct{ Steer, Gain, Yaw bool }

// SpeedFrom says of which wheels the car's speed is taken, by magnitude.
type SpeedFrom string

// The ways of taking the speed.
const (
	SpeedMean          SpeedFrom = "mean" // as the empty word
	SpeedFrontMean     SpeedFrom = "front_mean"
	SpeedRearMean      SpeedFrom = "rear_mean"
	SpeedSlowest       SpeedFrom = "slowest"
	SpeedSecondSlowest SpeedFrom = "second_slowest"
	SpeedSecondFastest SpeedFrom = "second_fastest"
	SpeedFastest       SpeedFrom = "fastest"
)

// Growth says how the shift grows with the error.
type Growth string

// The ways of growing.
const (
	Proportional Growth = "proportional" // as the empty word
	Saturating   Growth = "saturating"
	Integrating  Growth = "integrating"
)

// Reverse says what is done while the car rolls backwards.
type Reverse string

// The ways with rolling backwards.
const (
	ReverseNoShift   Reverse = "no_shift" // as the empty word
	ReverseAsForward Reverse = "as_forward"
	ReverseMirrored  Reverse = "mirrored"
)

// Straight says where there is no shift since the car goes nearly straight on. Up to From there
// is none, from Full on all of it; both 0: it is not looked at.
type Straight struct {
	SteerFrom, SteerFull   float64 // rad
	DemandFrom, DemandFull float64 // rad/s
}

// Traction cuts the command of a wheel that is faster than the slowest by Share of its speed to
// Cut of what it would be. Share 0: it does not.
type Traction struct{ Share, Cut float64 }

// words are those of the law, with what is known of each.
func (l *Law) words() []wordOf {
	return []wordOf{
		{"SpeedFrom", string(l.SpeedFrom), []string{"", string(SpeedMean), string(SpeedFrontMean), string(SpeedRearMean), string(SpeedSlowest), string(SpeedSecondSlowest), string(SpeedSecondFastest), string(SpeedFastest)}},
		{"Grows", string(l.Grows), []string{"", string(Proportional), string(Saturating), string(Integrating)}},
		{"Reverse", string(l.Reverse), []string{"", string(ReverseNoShift), string(ReverseAsForward), string(ReverseMirrored)}},
		{"AtCap", string(l.AtCap), append([]string{""}, limitWords...)},
		{"AtFloor", string(l.AtFloor), append([]string{""}, limitWords...)},
	}
}

// ranges are the constants of the law, with what they may be.
func (l *Law) ranges(s *Settings) []rangeOf {
	ranges := []rangeOf{
		{"YawLimit", l.YawLimit, 0, 1000},
		{"SteerLead", l.SteerLead.Seconds(), -1, 1},
		{"Most", l.Most, s.leastMost(), 1},
		{"GrowsIn", l.GrowsIn.Seconds(), s.leastGrowsIn(), 100},
		{"DeadShift", l.DeadShift, 0, 1},
		{"OppositeShare", l.OppositeShare, 0, 1},
		{"DerivativeTime", l.DerivativeTime.Seconds(), -1, 1},
		{"SumCap", l.SumCap, 0, 4},
		{"Traction.Share", l.Traction.Share, 0, 100},
		{"Traction.Cut", l.Traction.Cut, 0, 1},
		{"ThrottleBend", l.ThrottleBend, 0, 1},
		{"ThrottleDead", l.ThrottleDead, 0, 0.5},
		{"Step", l.Step, 0, 0.5},
		{"GainValue", l.GainValue, 0, 1},
	}
	for i, t := range l.Trim {
		ranges = append(ranges, rangeOf{"Trim of " + wheelNames[i], t, -0.5, 0.5})
	}
	return ranges
}

// leastMost and leastGrowsIn are what a law that needs these constants needs of them.
func (s *Settings) leastMost() float64 {
	if s.Grows == Saturating || s.Grows == Integrating {
		return 1e-6
	}
	return 0
}

func (s *Settings) leastGrowsIn() float64 {
	if s.Grows == Integrating {
		return 1e-3
	}
	return 0
}
