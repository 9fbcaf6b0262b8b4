// Package characteristic says how far the output of an actuator is from a straight
// line of its command: what readings of a speed controller at levels of throttle,
// approached from below and from above, come to.
//
// A [Set] holds all readings that were taken under one held condition, as at one speed of
// the shaft. A voltage-driven motor is linear in torque only at a held speed (common
// practice, no source), so that a figure without its condition says nothing.
//
// # Units and signs
//
// Commands are shares of full throttle, 0..1, or -1..1 where the controller turns both ways.
// Outputs are in the unit that the set names. Span of the output is the distance
// between its largest and least mean over the levels that were reached; span of the input
// that between the ends of the levels. Times of readings count from the start of the run;
// spans of time are in seconds.
//
// # Sources
//
// IEC 61298-2 and ISA-51.1, from memory: independent, terminal-based and zero-based
// conformity to a straight line on the average of upscale and downscale readings, hysteresis, dead
// band, repeatability, resolution; IEC 61298-2 also for the order of the cycles. The words of the
// independent line, "equalise and minimise the maximum deviations", are those of export
// control lists.
package characteristic

import (
	"math"
	"slices"

	"hilrig/assertions"
	"hilrig/assertions/measure"
	"hilrig/rig/signal"
)

// Direction is from where a level was approached.
type Direction uint8

// The directions: from a lower level, from a higher one.
const (
	Up Direction = iota
	Down
)

var directionNames = [...]string{"up", "down"}

// String returns the direction's word.
func (d Direction) String() string { return directionNames[d] }

// Status says what came of a level's reading.
type Status uint8

// The statuses. The zero value is a reading that stands.
const (
	Read       Status = iota
	NotReached        // the held condition was not reached at this level
	Dropped           // what was read cannot be trusted
)

var statusNames = [...]string{"read", "not reached", "dropped"}

// String returns the status's words.
func (s Status) String() string { return statusNames[s] }

// Reading is what one level gave once.
type Reading struct {
	Level     int // index into Set.Levels
	Direction Direction
	Cycle     int         // from 0
	At        signal.Time // when it was read
	Output    float64     // in Set.Unit, as measured
	Constant  float64     // the same at constant supply voltage; not a number where the supply is not known
	// Standard is the reading's own standard uncertainty in Set.Unit, from what it was made
	// of (residuals of a fit, samples of a window): what another reading would not share. 0 is
	// not known.
	Standard float64
	Status   Status
	Why      string // of NotReached and Dropped
}

// Fine is the output after a small change of command from a level: in the same direction
// as before it for the resolution, on reversal for the dead band.
type Fine struct {
	Level    float64 // command before
	Change   float64 // of command, signed
	Reversal bool    // the level was approached from the other side
	Cycle    int     // from 0
	Before   float64 // output before the change, in Set.Unit
	Output   float64 // output after it, in Set.Unit
	Standard float64 // standard uncertainty of the difference, in Set.Unit; 0 is not known
}

// Step is one answer to a step of throttle.
type Step struct {
	From, To      float64 // commands
	Delay         float64 // s, from the command to the first answer
	Rise          float64 // s, from 10 % to 90 % of the change
	DelayStandard float64 // s, standard uncertainty of Delay, 0 is not known
	RiseStandard  float64 // s, standard uncertainty of Rise, 0 is not known
	Every         float64 // s between the readings that tell of it, between two of which it is not known; 0 is none
	Cycle         int     // from 0
}

// Start is one search for the first level that moves the shaft. Both commands are 0..1 or, the
// other way round, -1..0.
type Start struct {
	Level float64 // the shaft moved
	Below float64 // the greatest command tried below it, where the shaft stood still
	Cycle int     // from 0
}

// Set is all readings under one held condition.
type Set struct {
	Held     string    // "speed 120 rad/s", "locked", "inertia 0 to 120 rad/s"
	Unit     string    // of outputs: "N m", "rad/s2" where no inertia is known, "A"
	Levels   []float64 // commands, 0..1 or -1..1, ascending
	Readings []Reading // in the order in which they were read
	Fine     []Fine
	Steps    []Step
	Starts   []Start
	// First are readings of one level before all others, Repeated of the same after them: the drift. Where First
	// is empty, Repeated are held against the first reading of their level in Readings.
	First, Repeated []Reading
	// Scale is the relative standard uncertainty of what scales all readings alike: inertia, lever
	// arm, torque constant. It enters absolute figures only.
	Scale  float64
	Offset float64 // standard uncertainty, in Unit, of what shifts all readings alike
	// Drag is what the shaft's own drag adds at the held speed, in Unit, already in the
	// outputs; nil where it is not known, so that outputs are known but for one number.
	Drag       *measure.Estimate
	FineWhy    string  // why Fine lacks what was played; empty: nothing was
	DragWhy    string  // why Drag is not known: "the controller brakes at idle"
	Absolute   bool    // outputs are torque in N m
	Resolution float64 // step between two outputs that one reading can tell apart, in Unit; 0 is none
	// Common is the width, in Unit, of an error that a level's readings share in all cycles, anywhere alike
	// within it (JCGM 100, 4.3.7). Noise does not resolve it, and it does not enter small changes of a command.
	Common float64
}

// Sense is in which of four senses a straight line lies closest to the readings.
type Sense uint8

// The senses of linearity, each with the line that deviations are taken from.
const (
	Independent   Sense = iota // placed to make the largest deviation least
	LeastSquares               // placed to make the sum of squares least
	TerminalBased              // through the outputs at both ends of the range
	ZeroBased                  // through the output at the lower end, its slope making the largest deviation least
)

var senseNames = [...]string{"independent", "least_squares", "terminal_based", "zero_based"}

// String returns the sense's word, as files write it.
func (s Sense) String() string { return senseNames[s] }

// Senses returns all senses in their order.
func Senses() []Sense { return []Sense{Independent, LeastSquares, TerminalBased, ZeroBased} }

// LinearityLimit is the largest deviation from a straight line that an owner accepts.
type LinearityLimit struct {
	Sense  Sense
	AtMost float64 // share of the output's span, above 0
}

// Limits is what an owner accepts. What is nil or false is not asked: it is
// measured and not judged.
type Limits struct {
	Linearity      *LinearityLimit
	StartThreshold *float64          // at most, a command: share of the input's span
	DeadBand       *float64          // at most, share of the input's span
	Resolution     *float64          // at most, share of the input's span
	Hysteresis     *float64          // at most, share of the output's span
	Repeatability  *float64          // at most, share of the output's span
	Drift          *float64          // at most either way, share of the output's span
	Monotone       bool              // the output never falls as the command rises
	FirstTenth     *measure.Interval // slope over the first tenth against the rest: 1 is even
	Delay, Rise    *float64          // s, at most
}

// Figure is one figure of a characteristic, with its verdict. What could not be measured is
// undecided, asked or not: see [Figure.Asked].
type Figure struct {
	Key      string // "independent_linearity", "hysteresis": see the constants
	Quantity string // in the trade's words
	Unit     string // empty for a share of span and for a ratio, both as fractions
	// Estimate lies in Low..High, which holds the true value in 95 of 100 runs or more.
	// Where nothing was measured, all three are not numbers.
	Estimate, Low, High float64
	Limit               *measure.Interval  // nil: measured only
	Verdict             assertions.Verdict // pass, fail, undecided; MeasuredOnly where there is no limit
	Why                 string             // of undecided, or what it rests on: "over 25 % to 100 %, 16 levels"
	At                  float64            // command at which the largest value stands; not a number where none is
}

// Measured reports whether anything was measured.
func (f *Figure) Measured() bool { return !math.IsNaN(f.Estimate) }

// Asked reports whether the owner set a limit. Only those figures stand for or against the
// controller.
func (f *Figure) Asked() bool { return f.Limit != nil }

// Worst returns the worst verdict of the figures that were asked, MeasuredOnly where none was.
func Worst(figures []Figure) assertions.Verdict {
	worst := assertions.MeasuredOnly
	for i := range figures {
		if figures[i].Asked() {
			worst = assertions.Worse(worst, figures[i].Verdict)
		}
	}
	return worst
}

// Keys of figures, in the order in which they are reported. Shares are of the output's span unless
// said otherwise.
const (
	KeyIndependent    = "independent_linearity"    // largest deviation from the straight line that makes it least
	KeyLeastSquares   = "least_squares_linearity"  // from that of least squares
	KeyTerminalBased  = "terminal_based_linearity" // from that through both ends
	KeyZeroBased      = "zero_based_linearity"     // from the closest through the lower end
	KeyStartThreshold = "start_threshold"          // command from which there is an output
	KeyDeadBand       = "dead_band"                // change on reversal that is not followed, as a share of the span of input
	KeyHysteresis     = "hysteresis"               // largest difference between up and down
	KeyRepeatability  = "repeatability"            // two standard deviations of readings from the same direction
	KeyDrift          = "drift"                    // of the first point from first to last, signed
	KeySaturation     = "saturation"               // command from which the output rises no more
	KeyMonotone       = "monotone"                 // largest fall as the command rises
	KeyFirstTenth     = "first_tenth"              // slope over the first tenth by that over the rest, a ratio
	KeyResolution     = "resolution"               // least change in the same direction that is followed, as a share of the span of input
	KeyDelay          = "delay"                    // s, from a step to the first answer
	KeyRiseTime       = "rise_time"                // s, from 10 % to 90 % of a step
	KeyFullOutput     = "full_output"              // in Set.Unit, at the highest level
)

// causes has the keys of figures in the order in which one explains those after it: heat that
// drifts scatters readings, coarse steps make a dead band and an uneven low end, a fall bends the line.
var causes = []string{
	KeyDrift, KeyResolution, KeyDeadBand, KeyHysteresis, KeyStartThreshold, KeyMonotone,
	KeyIndependent, KeyLeastSquares, KeyTerminalBased, KeyZeroBased, KeyFirstTenth, KeyRepeatability,
}

// CompareCauses is below 0 where a figure with key a explains one with key b rather than the other
// way round, and 0 where neither does.
func CompareCauses(a, b string) int {
	place := func(key string) int {
		if i := slices.Index(causes, key); i >= 0 {
			return i
		}
		return len(causes)
	}
	return place(a) - place(b)
}
