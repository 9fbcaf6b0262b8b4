package esc

import (
	"context"
	"errors"
	"fmt"
	"math"

	"hilrig/assertions/characteristic"
	"hilrig/assertions/measure"
	"hilrig/rig/signal"
	"hilrig/suites/file"
)

// coasted is one coast through a held speed, after a level.
type coasted struct {
	level float64
	measure.Estimate
}

// spinUpPhase is the sets that run-ups give: one for each held speed, in the order of the speeds.
type spinUpPhase struct {
	*spinUp
	stand  *file.Stand
	sets   []*characteristic.Set
	coasts [][]coasted // by set
	volts  []voltages  // by set
	starts []characteristic.Start
	steps  []characteristic.Step
	unit   float64
	before []beforeFine
}

// beforeFine is a run-up of a command about which small changes are tried.
type beforeFine struct {
	at float64
	r  *ran
}

func newSpinUpPhase(p *throttleLoop, s *file.Stand, held []*file.HeldCondition) *spinUpPhase {
	var speeds []float64
	for _, h := range held {
		speeds = append(speeds, h.Speed)
	}
	ph := &spinUpPhase{stand: s, unit: 1}
	ph.spinUp = newSpinUp(p, speeds, s.Plan.Margin, held[0].Kind == file.Inertia, s.SpinUp.Coast != file.Freewheels)
	for _, h := range held {
		set := &characteristic.Set{Held: h.String(), Unit: "rad/s2", Levels: s.Plan.Levels}
		if i := s.SpinUp.Inertia; i != nil {
			set.Unit, ph.unit = "N m", i.Value
			set.Scale = measure.Rectangular(i.Tolerance) / i.Value
			set.Absolute = true
		}
		ph.sets = append(ph.sets, set)
	}
	ph.coasts = make([][]coasted, len(held))
	ph.volts = make([]voltages, len(held))
	return ph
}

// parts is how many parts the phase has, for progress.
func (ph *spinUpPhase) parts(points []point) int {
	c := ph.stand.Plan.Cycles
	n := len(points) + c*(1+len(fineChanges(&ph.stand.Plan))+len(ph.stand.Plan.FineAt))
	if ph.stand.Plan.Step != nil {
		n += c
	}
	if ph.stand.Plan.FirstAgain {
		n += 2 * c
	}
	if ph.stand.SpinUp.Coast == file.Unplugged {
		n += handCoasts
	}
	return n
}

const (
	handCoasts = 2                      // that a person starts by hand
	handWait   = 5 * 60 * signal.Second // for each
)

// byHand reads coasts of a motor that a person has unplugged and spins up by hand, above the highest held speed. The
// throttle's line is silent meanwhile.
func (ph *spinUpPhase) byHand(ctx context.Context, done func(what string)) error {
	if _, err := ph.rest(ctx, mostRest); err != nil {
		return err
	}
	ph.throttle.SetSilent(true)
	defer ph.throttle.SetSilent(false)
	ph.bounds.turning = false
	defer func() { ph.bounds.turning = true }()
	for range handCoasts {
		done(fmt.Sprintf("unplug the motor, and spin the shaft to more than %.4g rad/s by hand", ph.top))
		most, low := 0.0, restShare*ph.speeds[0]
		ph.sources.mark()
		from := ph.next
		for end := ph.next + handWait; most < ph.top || ph.speed() > low; {
			if err := ph.turn(ctx); err != nil {
				return err
			}
			if v := ph.speed(); v > most {
				most, from = v, ph.next
			}
			if ph.next > end {
				ph.events.add(ph.bench.Now(), "encoder", "nobody spun the shaft by hand: drag is not known", 1)
				return nil
			}
			if most < ph.top { // what came before is not needed
				ph.sources.mark()
			}
		}
		now := ph.bench.Now()
		for i, w := range ph.speeds {
			if p := ph.pass(ph.sources.shaft, w, from, now); p.why == "" {
				ph.coasts[i] = append(ph.coasts[i], coasted{most, p.Estimate})
			}
		}
	}
	return nil
}

// play plays the phase. done is called after each part with what it was.
func (ph *spinUpPhase) play(ctx context.Context, points []point, done func(what string)) error {
	plan := &ph.stand.Plan
	for c := range plan.Cycles {
		if err := ph.start(ctx, c); err != nil {
			return err
		}
		done("start threshold")
		if c == 0 && plan.FirstAgain { // as soon as it is known what turns the shaft: the controller is still cold
			if err := ph.repeat(ctx, first, done); err != nil {
				return err
			}
		}
	}
	if plan.Step != nil {
		for c := range plan.Cycles {
			if err := ph.step(ctx, c); err != nil {
				return err
			}
			done("step response")
		}
	}
	ph.settle = ph.settled()
	for i, pt := range points {
		if err := ph.point(ctx, pt); err != nil {
			return err
		}
		done(percent(plan.Levels[pt.level]) + " " + pt.direction.String())
		if i+1 == len(points) || points[i+1].cycle != pt.cycle {
			if err := ph.fine(ctx, pt.cycle, done); err != nil {
				return err
			}
		}
	}
	if plan.FirstAgain {
		if err := ph.repeat(ctx, again, done); err != nil {
			return err
		}
	}
	if ph.stand.SpinUp.Coast == file.Unplugged { // last: nobody has to plug it in again
		return ph.byHand(ctx, done)
	}
	return nil
}

// repeat reads the first point, before all others or again after them, as often as there are cycles.
func (ph *spinUpPhase) repeat(ctx context.Context, at place, done func(what string)) error {
	for c := range ph.stand.Plan.Cycles {
		if err := ph.point(ctx, firstPoint(&ph.stand.Plan, at, c)); err != nil {
			return err
		}
		done(firstPointSaid[at])
	}
	return nil
}

var firstPointSaid = [...]string{first: "first point", again: "first point again"}

func percent(x float64) string { return fmt.Sprintf("%.4g %%", 100*x) }

const (
	startHold = 150 * signal.Millisecond // a command of a start search
	startMost = 0.25                     // the highest command of a start search: a motor that is stuck heats up
	startMove = 4                        // counts that have to come for a shaft to have moved
	mostRest  = 60 * signal.Second       // that a shaft may take to come to rest
)

// errNeverTurns says that no command of a start search moved the shaft.
var errNeverTurns = errors.New("the motor never turns")

// start searches for the first command that moves the shaft, from rest.
func (ph *spinUpPhase) start(ctx context.Context, cycle int) error {
	s := ph.sources.shaft
	if err := ph.atRest(ctx); err != nil {
		return err
	}
	step := ph.stand.Plan.StartStep
	turning := ph.bounds.turning
	ph.bounds.turning = false // it need not turn yet
	defer func() { ph.bounds.turning = turning }()
	count := s.count
	for n := 1; float64(float64(n)*step) <= startMost+step/2; n++ {
		if err := ph.hold(ctx, float64(n)*step, startHold); err != nil {
			return err
		}
		if moved := s.count - count; max(moved, -moved) >= startMove {
			level := float64(n) * step
			ph.starts = append(ph.starts, characteristic.Start{Level: level, Below: level - step, Cycle: cycle})
			if ph.bounds.threshold == 1 || ph.bounds.threshold < level+step {
				ph.bounds.threshold = level + step
			}
			backwards := s.signed && moved < 0
			ph.set(0)
			if backwards {
				return errBackwards
			}
			return nil
		}
	}
	ph.set(0)
	return fmt.Errorf("%w: commands up to %s do not move the shaft; look at the encoder's wires, the motor's and the controller's supply", errNeverTurns, percent(startMost))
}

const (
	idleWatch = 2 * signal.Second // spans over which the counts at idle are held against each other
	idleSpans = 3                 // so many of them in a row without fewer counts: it is driven, not coasting
	idleLeast = 20                // counts in each
)

// errTurnsAtIdle says that a controller drives the shaft at idle: nothing that is read of it then is an answer to a command, and
// the one that idle would stop goes on.
var errTurnsAtIdle = errors.New("the shaft turns at idle")

// atRest waits for the shaft to come to rest at idle. One that turns and does not slow down is driven, which is an error.
func (ph *spinUpPhase) atRest(ctx context.Context) error {
	s := ph.sources.shaft
	ph.bounds.level(ph.next, usualCoast)
	defer ph.bounds.over()
	held, before, count := 1, int64(0), s.count
	for end := ph.next + usualCoast; ph.next < end; {
		still, err := ph.rest(ctx, idleWatch)
		if still || err != nil {
			return err
		}
		came := max(s.count-count, count-s.count)
		if held++; came < idleLeast || came < before {
			held = 1
		}
		if held >= idleSpans {
			break
		}
		before, count = came, s.count
	}
	v, way := ph.speed(), ""
	if s.signed && v < 0 {
		way = " backwards"
	}
	return fmt.Errorf("%w,%s at %.3g rad/s, and does not come to rest: the controller drives it, or its idle is not that of the stand file; keep clear of it, and take its supply off", errTurnsAtIdle, way, math.Abs(v))
}

// longestAnswer is the longest delay and time constant of a step that is looked for.
const longestAnswer = 60 * signal.Millisecond

// step plays a step of throttle and times its answer.
func (ph *spinUpPhase) step(ctx context.Context, cycle int) error {
	st := ph.stand.Plan.Step
	if err := ph.slowDown(ctx, restShare*ph.speeds[0]); err != nil {
		return err
	}
	answer := characteristic.Step{From: st.From, To: st.To, Cycle: cycle, Delay: math.NaN(), Rise: math.NaN()}
	ph.sources.mark()
	began := ph.next
	if err := ph.hold(ctx, st.From, st.Hold); err != nil {
		return err
	}
	if err := ph.hold(ctx, st.To, st.Hold); err != nil {
		return err
	}
	at, ended := ph.stepped, ph.next
	ph.set(0)
	for range 2 {
		if err := ph.turn(ctx); err != nil {
			return err
		}
	}
	s := ph.sources.shaft
	segment := shaft{samples: s.samples, rad: s.rad, line: s.line, once: s.once}
	s.samples, ph.spare = ph.spare[:0], nil
	err := ph.beside(ctx, func() {
		longest := min(longestAnswer, st.Hold/3)
		from := max(began+longest, at-2*longest)
		if at == 0 || segment.turning(from, min(ended, at+2*longest), &ph.room) != nil {
			return
		}
		lag, err := ph.fitter.StepAt((at - from).Seconds(), longest.Seconds(), &ph.room)
		if err != nil {
			ph.events.add(at, "encoder", "a step of throttle has no answer that can be timed: "+err.Error(), 1)
			return
		}
		answer.Delay, answer.DelayStandard = lag.Delay.Value, lag.Delay.Standard()
		answer.Rise, answer.RiseStandard = lag.Rise.Value, lag.Rise.Standard()
	})
	ph.spare = segment.samples
	ph.steps = append(ph.steps, answer)
	return err
}

// settled is what the controller takes to follow: as the steps say, five time constants after the delay.
func (ph *spinUpPhase) settled() signal.Time {
	longest := 0.0
	for _, s := range ph.steps {
		if t := s.Delay + 5*s.Rise/2.2; t > longest {
			longest = t
		}
	}
	if longest == 0 {
		return usualSettle
	}
	return min(max(signal.FromSeconds(longest), leastSettle), mostSettle)
}

// point plays the run-up of one level and keeps its readings.
func (ph *spinUpPhase) point(ctx context.Context, pt point) error {
	plan := &ph.stand.Plan
	level := plan.Levels[pt.level]
	reading := characteristic.Reading{Level: pt.level, Direction: pt.direction, Cycle: pt.cycle, At: ph.next, Output: math.NaN(), Constant: math.NaN()}
	if level < 0 || level == 0 {
		reading.Status, reading.Why = characteristic.NotReached, "idle turns nothing"
		if level < 0 {
			reading.Why = "a run-up turns ahead alone; give the other sense a stand file of its own"
		}
		for i := range ph.sets {
			ph.keep(i, pt, reading, math.NaN())
		}
		return nil
	}
	r, err := ph.run(ctx, level, max(approach(plan, pt.level, pt.direction), 0))
	if err != nil {
		return err
	}
	for i := range ph.sets {
		one, p := reading, &r.drive[i]
		volts := math.NaN()
		switch {
		case p.not:
			one.Status, one.Why = characteristic.NotReached, p.why
		case p.why != "":
			one.Status, one.Why = characteristic.Dropped, p.why
		case r.limitedAt(p.at):
			one.Status, one.Why = characteristic.Dropped, limitedWhy
		default:
			one.At, one.Output, one.Standard = p.at, ph.unit*p.Value, ph.unit*p.Statistical
			volts, _, _ = mean(r.supply, p.at-2*silence/5, p.at+2*silence/5)
		}
		ph.keep(i, pt, one, volts)
		if i < len(r.coast) && r.coast[i].why == "" && pt.place == among {
			ph.coasts[i] = append(ph.coasts[i], coasted{level, r.coast[i].Estimate})
		}
	}
	return nil
}

func (ph *spinUpPhase) keep(i int, pt point, r characteristic.Reading, volts float64) {
	add(ph.sets[i], pt.place, r)
	ph.volts[i][pt.place] = append(ph.volts[i][pt.place], volts)
}

// add adds a reading to those of its place.
func add(set *characteristic.Set, at place, r characteristic.Reading) {
	list := [...]*[]characteristic.Reading{among: &set.Readings, first: &set.First, again: &set.Repeated}[at]
	*list = append(*list, r)
}

// fine tries small changes about commands: a run-up of the command, approached from below, and one of each
// changed command, approached from it.
func (ph *spinUpPhase) fine(ctx context.Context, cycle int, done func(what string)) error {
	plan := &ph.stand.Plan
	ph.before = ph.before[:0]
	for _, at := range plan.FineAt {
		r, err := ph.run(ctx, at, below(plan, at))
		if err != nil {
			return err
		}
		done("small changes about " + percent(at))
		ph.before = append(ph.before, beforeFine{at, r})
	}
	for _, f := range fineChanges(plan) {
		var was *ran
		for _, b := range ph.before {
			if b.at == f.at {
				was = b.r
			}
		}
		r, err := ph.run(ctx, f.at+f.change, f.at)
		if err != nil {
			return err
		}
		done("small changes about " + percent(f.at))
		for i := range ph.sets {
			b, a := &was.drive[i], &r.drive[i]
			if b.why != "" || a.why != "" || was.limitedAt(b.at) || r.limitedAt(a.at) {
				continue
			}
			ph.sets[i].Fine = append(ph.sets[i].Fine, characteristic.Fine{
				Level: f.at, Change: f.change, Reversal: f.reversal, Cycle: cycle,
				Before: ph.unit * b.Value, Output: ph.unit * a.Value, Standard: ph.unit * measure.RootSumSquare(a.Statistical, b.Statistical),
			})
		}
	}
	return nil
}

// below returns the level of the plan below a command.
func below(p *file.StandPlan, command float64) float64 {
	under := 0.0
	for _, x := range p.Levels {
		if x >= 0 && x < command {
			under = x
		}
	}
	return under
}

// complete completes the sets: starts, steps, drag.
func (ph *spinUpPhase) complete() {
	for i, set := range ph.sets {
		set.Starts, set.Steps = ph.starts, ph.steps
		drag, why := ph.drag(i)
		if drag == nil {
			set.DragWhy, set.Absolute = why, false
			continue
		}
		d := measure.Estimate{Value: ph.unit * drag.Value, Statistical: ph.unit * drag.Statistical, Systematic: ph.unit * drag.Systematic, DegreesOfFreedom: drag.DegreesOfFreedom}
		set.Drag = &d
		for _, list := range [][]characteristic.Reading{set.Readings, set.First, set.Repeated} {
			for j := range list {
				list[j].Output += d.Value
			}
		}
		for j := range set.Fine {
			set.Fine[j].Before += d.Value
			set.Fine[j].Output += d.Value
		}
	}
}

const (
	leastCoasts = 4    // of each half, from low and from high levels
	dragApart   = 0.03 // of the drag, by which they may differ
)

// drag returns the deceleration of the coasts through a held speed, in rad/s2, nil where it is not known and why.
func (ph *spinUpPhase) drag(i int) (*measure.Estimate, string) {
	coasts := ph.coasts[i]
	switch {
	case ph.stand.SpinUp.Coast == file.Brakes:
		return nil, "the controller brakes at idle"
	case ph.stand.SpinUp.Coast == file.Unplugged && len(coasts) >= handCoasts:
	case len(coasts) < 2*leastCoasts:
		return nil, fmt.Sprintf("only %d coasts pass the held speed", len(coasts))
	}
	middle := 0.0
	for _, c := range coasts {
		middle += c.level / float64(len(coasts))
	}
	var low, high, all []float64
	bias := 0.0
	for _, c := range coasts {
		all = append(all, -c.Value)
		bias = max(bias, c.Systematic)
		if c.level < middle {
			low = append(low, -c.Value)
		} else {
			high = append(high, -c.Value)
		}
	}
	mean := measure.MeanOf(all, bias)
	if len(low) >= 1 && len(high) >= 1 {
		a, b := measure.MeanOf(low, 0), measure.MeanOf(high, 0)
		if len(low) == 1 || len(high) == 1 { // what each knows of itself
			a.Statistical, b.Statistical = coasts[0].Statistical, coasts[len(coasts)-1].Statistical
			a.DegreesOfFreedom, b.DegreesOfFreedom = 0, 0
		}
		apart := measure.Difference(a, b)
		if off := math.Abs(apart.Value); off > apart.Expanded() && off > dragApart*math.Abs(mean.Value) {
			return nil, fmt.Sprintf("coasting from low and from high levels does not agree: %.3g and %.3g rad/s2", a.Value, b.Value)
		}
	}
	if mean.Value <= 0 {
		return nil, "the shaft does not slow down while it coasts"
	}
	return &mean, ""
}
