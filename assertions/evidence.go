package assertions

import (
	"errors"
	"fmt"
	"slices"

	"hilrig/assertions/law"
	"hilrig/assertions/measure"
	"hilrig/plant"
	"hilrig/rig/signal"
	"hilrig/rig/trace"
	"hilrig/stimulus"
)

// Evidence is what a case produced, for its checks to read.
type Evidence struct {
	Trace  *trace.Trace
	Policy *law.Policy
	Steps  []Step // in order of time; the baseline, where there is one, first
	// CommandStep is the smallest difference that the motor line's format and
	// the sampler can show, as a share of range: 0.001 for a servo pulse timed to 1 us.
	CommandStep float64
	// ThrottleStep is the smallest difference of the throttle, a share, that the receiver's wire carries; 0 where it carries any.
	ThrottleStep float64
	// Given says that the suite is a standard one, whose windows are not those of who plays it.
	Given bool
	// Off and NoBoard are the same case played with the gain at zero, and with the
	// throttle passed on to all four motors; nil where the case does not ask for them.
	// Repeats are further runs of the same case with other phases and noise; each has its own steps.
	Off, NoBoard *Evidence
	Repeats      []*Evidence
	// Release is when the plant took over in closed loop.
	Release signal.Time
	// Car is the car, by which the speeds of its hubs are known; nil: every wheel goes at the
	// car's speed.
	Car *plant.Car
	// Lowest is the lowest command of the motor lines' scale: 0 one way, -1 with a neutral.
	Lowest float64

	// Curve is what the motors are commanded with no shift over the throttle, as a run measured it at its
	// beginning, for a policy whose throttle_curve is calibrated; nil: it is not known, and NoCurve says why not
	// where there will be none.
	Curve   *law.Curve
	NoCurve string

	// Apart are how long the wires take from one value to the next.
	Apart Apart

	// LoopPeriod, where it is not nil, is where the board's response has the period of its loop,
	// s; see [measure.UpdatePeriodWithin].
	LoopPeriod *measure.Interval
	// LoopFound, where it is not nil, is the period of the loop as the board's response told it,
	// better than its frames: MeasureLoop gives it.
	LoopFound *LoopFound

	loop         loopAnswer              // the last that MeasureLoop gave
	disturbances map[window][]trace.Span // what screened worked out, of each step
}

// Step is one stretch of a case in which the stimulus was held.
type Step struct {
	Name     string      // "baseline", "hold", or as the suite names it
	Baseline bool        // what shifts are counted from
	Applied  signal.Time // when the step's values were applied
	From, To signal.Time // the window that is measured, [From, To)
	Steer    float64     // rad
	Speed    float64     // m/s
	YawRate  float64     // rad/s
	Demand   float64     // rad/s, by the policy, at this speed and steer
	Throttle float64     // share
	Gain     float64     // share
	// Wheels are the rates in rad/s of the wheels that do not turn as the car moves, in the order of plant.Wheels; nil: they do.
	Wheels [4]*float64
	// Slip is by what share of the rate at which it would roll freely each wheel turns faster that does turn as the car moves, in the same order.
	Slip [4]float64

	// Changes are the times at which a trial's stimulus changed, for steps that
	// are trials; the change is on the wire at the first pulse or frame after it.
	Changes []signal.Time
	// Aimed says that the changes were put at some phases of the motor frames on purpose, so that they are not asked to be spread.
	Aimed bool
	// OnRequest says that the board asks for the frames that carry the changes: which phases of its own they meet is its doing.
	OnRequest bool
	// Changed is the channel that changes or is swept in this step.
	Changed trace.Channel
	// Levels are the two values of Changed between which trials alternate, the first as held before.
	Levels [2]float64
	// Swept says that Changed goes slowly from one value to another and back within the window.
	Swept bool
	// Moving says that values are not held in this step: they follow shapes or a drive log.
	Moving bool
	// Swing is how a channel swings about its value in this step; nil: none does, or others move as well.
	Swing *Swing
	// Calm says of a step whose values move that the policy asks for a clear shift in it too
	// rarely to be held to that.
	Calm bool
	// Faults are what is wrong with the wires in this step, times as the trace's.
	Faults []stimulus.Fault
	// PowerUp says that the board was powered up as this step was applied, with
	// no rest in between.
	PowerUp bool
}

// Apart are how long the wires take from one value to the next: of the yaw rate, of the steering, and the slowest of all that the
// board hears.
type Apart struct{ Yaw, Steer, Slowest signal.Time }

// Swing is a sine for as long as a step lasts.
type Swing struct {
	Of trace.Channel
	By float64 // how far it goes to either side, in the unit of the channel
	At float64 // Hz
}

// Turn returns the sense of the turn in which the step's outside and inside are named, by
// the policy: +1 left, -1 right, 0 where there is none.
func (s *Step) Turn(p *law.Policy) int {
	if p.TurnFrom == law.TurnFromDemand && s.Demand != 0 {
		return p.Turn(s.Demand, s.Demand)
	}
	return p.Turn(s.YawRate, s.Steer)
}

// Step returns the step with that name; the empty name means the last step.
func (e *Evidence) Step(name string) (*Step, bool) {
	i := len(e.Steps) - 1
	if name != "" {
		i = slices.IndexFunc(e.Steps, func(s Step) bool { return s.Name == name })
	}
	if i < 0 {
		return nil, false
	}
	return &e.Steps[i], true
}

// Baseline returns the step that shifts are counted from.
func (e *Evidence) Baseline() (*Step, bool) {
	i := slices.IndexFunc(e.Steps, func(s Step) bool { return s.Baseline })
	if i < 0 {
		return nil, false
	}
	return &e.Steps[i], true
}

// step returns the named step.
func (e *Evidence) step(name string) (*Step, error) {
	if s, ok := e.Step(name); ok {
		return s, nil
	}
	if name == "" {
		return nil, errors.New("the case has no step; give it one to be judged in")
	}
	return nil, fmt.Errorf("the case has no step %q; name one of its steps", name)
}

// steps returns the named steps.
func (e *Evidence) steps(names []string) (steps []*Step, err error) {
	in := readings{e: e}
	for _, n := range names {
		steps = append(steps, in.step(n))
	}
	return steps, in.err
}

// stepAndBaseline returns the named step and the baseline that its shifts are
// counted from.
func (e *Evidence) stepAndBaseline(name string) (s, base *Step, err error) {
	in := readings{e: e}
	s = in.step(name)
	base = in.baselineOf(s)
	return s, base, in.err
}

// baselineOf returns the baseline that the shifts of s are counted from.
func (e *Evidence) baselineOf(s *Step) (base *Step, err error) {
	base, ok := e.Baseline()
	switch {
	case !ok:
		err = s.undecided("the case has no baseline that a shift could be counted from; mark a step as baseline")
	case base == s:
		err = s.undecided("this step is itself the baseline; add a step in which the stimulus is held")
	}
	return base, err
}

// policy returns the owner's policy, an empty one where there is none.
func (e *Evidence) policy() *law.Policy {
	if e.Policy == nil {
		return &law.Policy{}
	}
	return e.Policy
}

// deadShift returns the shift that counts as none.
func (e *Evidence) deadShift() float64 { return e.policy().DeadShiftFor(e.CommandStep) }

// runs returns the evidence of all runs of a case, its comparisons and repeats included.
func (e *Evidence) runs() (all []*Evidence) {
	for _, one := range append([]*Evidence{e, e.Off, e.NoBoard}, e.Repeats...) {
		if one != nil && one.Trace != nil && len(one.Steps) > 0 {
			all = append(all, one)
		}
	}
	return all
}
