package suites

import (
	"cmp"
	"context"
	"fmt"
	"math"

	"hilrig/assertions"
	"hilrig/assertions/law"
	"hilrig/plant"
	"hilrig/rig/signal"
	"hilrig/stimulus"
	"hilrig/suites/file"
	"hilrig/suites/record"
)

// Hold is one hold played by hand.
type Hold struct {
	Speed    float64     // m/s
	Steer    float64     // rad
	Throttle float64     // share
	Gain     float64     // share
	YawRate  float64     // rad/s, or a share of the demand:
	OfDemand bool        // YawRate is a share, 0.7 for "70 %"
	Observe  signal.Time // each window; 0: 400 ms
	// Watch is called with each tick and the newest command of each motor, in the order of plant.Wheels, while it is held; nil
	// tells nobody. In real time it may not block.
	Watch func(at signal.Time, commands [4]float64)
}

// Played is what a hold by hand showed.
type Played struct {
	Demand  float64 // rad/s, by the car's policy; 0 where it declares none
	YawRate float64 // rad/s
	Branch  string  // "understeer", "oversteer", "opposite lock", "on demand"
	Turn    int     // +1 left, -1 right, 0 neither
	Late    string  // how the rig's own timing invalidated the hold, so that what was read, if anything, may be its doing; empty: it did not
	// Idle says that every motor was read and stood at idle although the throttle was up: the
	// board ignores the throttle.
	Idle   bool
	Motors [4]PlayedMotor
	Along  *record.Along // what was commanded from the baseline's window to the end of the hold
}

// PlayedMotor is one motor's part, in the order of plant.Wheels.
type PlayedMotor struct {
	Wheel plant.Wheel
	Place law.Corner // its place in the turn; the wheel's name where there is no turn
	// Why says why the motor could not be read; empty: it was. Silent tells whether that
	// is the board, which sent no command, or else the rig, which could not read any.
	Why    string
	Silent bool
	Read   *assertions.Shift // nil: it could not be read
}

// NotShown says, in a sentence each, what of the board the hold does not show; nil where it shows all.
func (p *Played) NotShown() (says []string) {
	silent, unread := 0, 0
	for i := range p.Motors {
		switch m := &p.Motors[i]; {
		case m.Silent:
			silent++
		case m.Read == nil:
			unread++
		}
	}
	if p.Idle {
		says = append(says, "every motor stands at idle with the throttle up: the board ignores the throttle; look whether it is armed, and at its receiver")
	}
	if silent > 0 {
		says = append(says, fmt.Sprintf("%d of %d motors without a command, with all of the board's inputs there", silent, len(p.Motors)))
	}
	if unread > 0 {
		says = append(says, fmt.Sprintf("%d of %d motors not measured, which says nothing of the board", unread, len(p.Motors)))
	}
	if p.Late != "" && unread < len(p.Motors) {
		says = append(says, p.Late+", so that what is shown may be its doing")
	}
	if p.Late != "" {
		says = append(says, "play it on a machine that keeps time")
	}
	return says
}

// Outcome is record.NoGo where a motor was silent or all stood at idle with the throttle up, for
// a board all of whose inputs are there drives every motor, whatever its policy; else record.NotShown where one could not
// be read or the rig's lateness leaves what was read open; else record.Go, which says that
// the hold was seen and not that it was right.
func (p *Played) Outcome() string {
	outcome := record.Go
	if p.Idle {
		outcome = record.NoGo
	}
	if p.Late != "" {
		outcome = record.NotShown
	}
	for i := range p.Motors {
		switch m := &p.Motors[i]; {
		case m.Silent:
			return record.NoGo
		case m.Why != "":
			outcome = record.NotShown
		}
	}
	return outcome
}

// Play plays one hold: first with the yaw rate on demand, the baseline, then as
// asked. It uses the setup's car, bench and board and none of its suites. On a bench in real
// time what the rig's own timing invalidates is played again, as a case of a suite is.
func (s *Setup) Play(ctx context.Context, h Hold) (*Played, error) {
	const settle = 300 * signal.Millisecond
	observe := cmp.Or(h.Observe, 400*signal.Millisecond)
	base := stimulus.Values{Speed: h.Speed, Steer: h.Steer, Throttle: h.Throttle, Gain: h.Gain}
	demand := s.demand(h.Speed, h.Steer)
	base.YawRate = demand
	held := base
	held.YawRate = h.YawRate
	if h.OfDemand {
		held.YawRate = h.YawRate * demand
	}
	c := &file.Case{Name: "by hand", Steps: []file.Step{
		{Name: "baseline", Baseline: true, Settle: settle, Observe: observe, Values: base, Demand: demand},
		{Name: "hold", Settle: settle, Observe: observe, Values: held, Demand: demand},
	}}
	var ses *session
	var seen func(driven, captured []signal.Edge)
	if h.Watch != nil {
		seen = func(_, _ []signal.Edge) {
			if ses != nil && ses.rig != nil { // it is powered up
				h.Watch(ses.rig.Now(), ses.rig.Commands())
			}
		}
	}
	ses, err := s.open(ctx, &file.Suite{Name: "by hand"}, s.board, seen)
	defer func() { ses.close() }()
	if err != nil {
		return nil, err
	}
	for try := 0; ; try++ {
		ses.used = 0
		e, err := ses.execute(ctx, c, s.noise("by hand", "", "trials", try), ses.trace(), nil)
		if err != nil {
			return nil, err
		}
		if p := played(e); p.Late == "" || s.real == nil || try == mostAgain {
			return p, nil
		}
	}
}

// played reads a hold's evidence.
func played(e *assertions.Evidence) *Played {
	step, _ := e.Step("hold")
	p := &Played{Along: Along(e).From(int64(e.Steps[0].From)), Demand: step.Demand, YawRate: step.YawRate, Branch: assertions.SituationOf(step.Demand, step.YawRate), Turn: step.Turn(e.Policy)}
	invalidated, _ := e.Invalidated()
	p.Late = invalidated
	for i, w := range plant.Wheels {
		m := PlayedMotor{Wheel: w, Place: law.PlaceOf(w, p.Turn)}
		shift, verdict, why := assertions.MeasureShift(e, w, step)
		if why == "" {
			m.Read = &shift
			p.Motors[i] = m
			continue
		}
		// As with checks, what the board did is open where the rig invalidated the hold.
		m.Why, m.Silent = why, verdict == assertions.Fail && invalidated == ""
		if rig := e.NotRead(w, step); rig != "" {
			m.Why, p.Late = rig, cmp.Or(p.Late, rig)
		}
		p.Motors[i] = m
	}
	p.Idle = invalidated == "" && idle(e, step, &p.Motors)
	return p
}

// idle says whether all motors stood at idle while the throttle was up, before and in a step.
func idle(e *assertions.Evidence, step *assertions.Step, motors *[4]PlayedMotor) bool {
	none := e.Policy.DeadShiftFor(e.CommandStep)
	for i := range motors {
		r := motors[i].Read
		if r == nil || max(math.Abs(r.Baseline), math.Abs(r.Command)) > none {
			return false
		}
	}
	return math.Abs(step.Throttle) > 2*none
}
