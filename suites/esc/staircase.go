package esc

import (
	"context"
	"fmt"
	"math"

	"hilrig/assertions/characteristic"
	"hilrig/assertions/measure"
	"hilrig/rig/signal"
	"hilrig/suites/file"
)

// staircase holds level after level and reads the mean over the window at the end of each.
type staircase struct {
	*throttleLoop
	stand  *file.Stand
	held   *file.HeldCondition
	source file.StandSource
	set    *characteristic.Set
	volts  voltages
	zero   float64 // output at idle, at the beginning
	noise  float64 // standard deviation of the output at idle
	room   []value
	late   bool // the held speed was not there when the last window began
}

func newStaircase(p *throttleLoop, s *file.Stand, h *file.HeldCondition) *staircase {
	st := &staircase{throttleLoop: p, stand: s, held: h, source: s.TorqueBy(h)}
	st.set = &characteristic.Set{Held: h.String(), Unit: "N m", Levels: s.Plan.Levels, Absolute: true}
	st.set.Drag = &measure.Estimate{} // what is measured is the shaft's own torque
	switch st.source {
	case file.FromLoadCell:
		c := s.LoadCell
		mass := math.Abs(c.Span[1].Mass - c.Span[0].Mass)
		st.set.Scale = measure.RootSumSquare(
			measure.Rectangular(c.Arm.Tolerance)/c.Arm.Value,
			measure.Rectangular(c.Span[0].Tolerance)/mass, measure.Rectangular(c.Span[1].Tolerance)/mass)
		st.set.Resolution = p.sources.cell.resolution
	case file.FromTelemetry:
		st.scaled(&s.Telemetry.MotorCurrent)
	case file.FromBus:
		st.scaled(&p.sources.onBus(file.BusCurrent).MotorCurrent)
	}
	p.bounds.most = h.LevelLimit
	p.bounds.turning = h.Kind != file.Locked && p.sources.shaft != nil
	return st
}

// scaled says what of a current scales all torques alike.
func (st *staircase) scaled(m *file.MotorCurrent) {
	if m.Current == file.PhaseCurrent && m.TorqueConstant != nil {
		st.set.Scale = measure.Rectangular(m.TorqueConstant.Tolerance) / m.TorqueConstant.Value
		st.set.Resolution = 0
	}
	if m.TorqueConstant == nil && m.Current == file.PhaseCurrent {
		st.set.Unit, st.set.Absolute = "A", false
	}
}

// parts is how many parts the phase has, for progress.
func (st *staircase) parts(points []point) int {
	n := len(points) + st.stand.Plan.Cycles*len(fineChanges(&st.stand.Plan))
	if st.stand.Plan.Step != nil {
		n += st.stand.Plan.Cycles
	}
	if st.stand.Plan.FirstAgain {
		n += 2 * st.stand.Plan.Cycles
	}
	return n
}

// play plays the phase.
func (st *staircase) play(ctx context.Context, points []point, done func(what string)) error {
	plan := &st.stand.Plan
	st.sources.mark()
	if err := st.hold(ctx, 0, plan.Dwell); err != nil {
		return err
	}
	from := st.bench.Now() - plan.Window
	switch zero, u, n, why := st.output(from, st.bench.Now(), 0); {
	case n > 1 && why == "":
		st.zero, st.noise = zero, u*math.Sqrt(float64(n))
	case n > 1: // by power a shaft at rest has none: of the current's noise what it will be at the held speed
		if volts := st.volt(from); !math.IsNaN(volts) && st.held.Speed > 0 {
			st.noise = u * math.Sqrt(float64(n)) * volts / st.held.Speed
		}
	}
	st.bounds.threshold = st.firstDriven()
	if plan.FirstAgain {
		if err := st.repeat(ctx, first, done); err != nil {
			return err
		}
	}
	if plan.Step != nil {
		for c := range plan.Cycles {
			if err := st.step(ctx, c); err != nil {
				return err
			}
			done("step response")
		}
	}
	for i, pt := range points {
		if err := st.point(ctx, pt); err != nil {
			return err
		}
		done(percent(plan.Levels[pt.level]) + " " + pt.direction.String())
		if i+1 == len(points) || points[i+1].cycle != pt.cycle {
			if err := st.fine(ctx, pt.cycle, done); err != nil {
				return err
			}
		}
	}
	if plan.FirstAgain {
		if err := st.repeat(ctx, again, done); err != nil {
			return err
		}
	}
	return st.drifted(ctx)
}

// repeat reads the first point, before all others or again after them, as often as there are cycles.
func (st *staircase) repeat(ctx context.Context, at place, done func(what string)) error {
	for c := range st.stand.Plan.Cycles {
		if err := st.point(ctx, firstPoint(&st.stand.Plan, at, c)); err != nil {
			return err
		}
		done(firstPointSaid[at])
	}
	return nil
}

// firstDriven is the command above which a source has to live: of a staircase the second of the levels above 0.
func (st *staircase) firstDriven() float64 {
	n := 0
	for _, x := range st.stand.Plan.Levels {
		if x > 0 {
			if n++; n == 3 {
				return x
			}
		}
	}
	return 1
}

// zeroMoved is by how much of the span the output at idle may have moved by the end.
const zeroMoved = 0.02

// drifted tells where the output at idle is another than at the beginning.
func (st *staircase) drifted(ctx context.Context) error {
	if st.source != file.FromLoadCell {
		return nil
	}
	st.sources.mark()
	if err := st.hold(ctx, 0, st.stand.Plan.Dwell); err != nil {
		return err
	}
	now := st.bench.Now()
	zero, u, n, _ := st.output(now-st.stand.Plan.Window, now, 0)
	most := 0.0
	for _, r := range st.set.Readings {
		if r.Status == characteristic.Read {
			most = max(most, math.Abs(r.Output))
		}
	}
	if off := math.Abs(zero - st.zero); n > 1 && off > zeroMoved*most && off > 4*u {
		st.events.add(now, "load_cell", fmt.Sprintf("its zero has moved by %.3g N m since the beginning, %.2g %% of the largest torque", zero-st.zero, 100*off/most), 1)
	}
	return nil
}

// dwell holds a command for the dwell, and returns mean, standard uncertainty and supply over the window at its end.
func (st *staircase) dwell(ctx context.Context, command float64) (m, u, volts float64, why string, err error) {
	plan := &st.stand.Plan
	st.sources.mark()
	bad := st.badSoFar()
	st.bounds.level(st.next, plan.Dwell)
	defer st.bounds.over()
	if err = st.hold(ctx, command, plan.Dwell-plan.Window); err != nil {
		return
	}
	st.late = st.slow()
	if err = st.hold(ctx, command, plan.Window); err != nil {
		return
	}
	now := st.bench.Now()
	m, u, n, why := st.output(now-plan.Window, now, command)
	if why == "" && n == 0 {
		why = "nothing was read in the window"
		if st.badSoFar() > bad {
			why = "no reading in the window can be trusted"
		}
	}
	return m, u, st.volt(now - plan.Window), why, nil
}

func (st *staircase) badSoFar() int64 {
	if st.sources.cell != nil {
		return st.sources.cell.bad
	}
	return 0
}

// volt returns the mean voltage of the supply since from; not a number where it is not known.
func (st *staircase) volt(from signal.Time) float64 {
	st.room = st.sources.volts(st.room[:0])
	m, _, _ := mean(st.room, from, st.bench.Now())
	if math.IsNaN(m) && st.stand.Supply.Sag == nil {
		if v, ok := st.sources.voltage(); ok && st.stand.Supply.MeasuredBy == file.FromNothing { // for torque by power
			return v
		}
	}
	return m
}

// frames returns mean, standard uncertainty and number of what of says of the telemetry frames within from..to.
func (st *staircase) frames(from, to signal.Time, of func(i int) float64) (m, u float64, n int) {
	var list []value
	for i := range st.sources.telemetry.recorded {
		list = append(list, value{st.sources.telemetry.recorded[i].At, of(i)})
	}
	return mean(list, from, to)
}

// output returns the mean output within from..to with its standard uncertainty and the number of readings; why says
// why there is none that can be judged.
func (st *staircase) output(from, to signal.Time, command float64) (m, u float64, n int, why string) {
	s := st.sources
	switch st.source {
	case file.FromLoadCell:
		m, u, n = mean(s.cell.recorded, from, to)
	case file.FromTelemetry:
		if s.telemetry.stuck() {
			return 0, 0, 0, "telemetry may be stuck"
		}
		m, u, n = st.frames(from, to, func(i int) float64 { return s.telemetry.recorded[i].Current })
		return st.ofCurrent(m, u, n, &st.stand.Telemetry.MotorCurrent, from, to)
	case file.FromBus:
		b := s.onBus(file.BusCurrent)
		m, u, n = mean(b.recorded, from, to)
		return st.ofCurrent(m, u, n, &b.MotorCurrent, from, to)
	}
	return m, u, n, ""
}

// ofCurrent makes torque of a mean current: of a phase current by the torque constant; of the supply's by power,
//
//	T w = V I - (T/K)^2 R
//
// with the shaft's speed w, the winding's resistance R and the torque constant K; where K is not declared the
// loss is left out and the torque is a bound.
func (st *staircase) ofCurrent(m, u float64, n int, of *file.MotorCurrent, from, to signal.Time) (float64, float64, int, string) {
	if n == 0 || of.Current == file.PhaseCurrent {
		if of.TorqueConstant != nil {
			m, u = m*of.TorqueConstant.Value, u*of.TorqueConstant.Value
		}
		return m, u, n, ""
	}
	w, ok := st.sources.speed(to)
	volts := st.volt(from)
	switch {
	case st.held.Kind == file.Locked:
		return m, u, n, "the supply's current says nothing of the torque of a locked shaft"
	case !ok || math.Abs(w) < 1:
		return m, u, n, "the supply's current gives torque by power, and the shaft does not turn"
	case math.IsNaN(volts):
		return m, u, n, "the supply's current gives torque by power, and its voltage is not known"
	case of.TorqueConstant == nil || of.WindingResistance == nil:
		return m, u, n, "the supply's current gives torque by power, and the winding's loss is not declared"
	}
	k := of.WindingResistance.Value / of.TorqueConstant.Value / of.TorqueConstant.Value
	root := math.Sqrt(float64(w*w) + float64(4*k*volts*m))
	torque := (root - math.Abs(w)) / (2 * k)
	return math.Copysign(torque, w), u * volts / root, n, ""
}

// near holds the level that gives the next one its direction, after the rest.
func (st *staircase) near(ctx context.Context, command, next float64) error {
	rest := st.stand.Plan.Rest
	locked := st.held.Kind == file.Locked
	if locked && rest == 0 && (command == st.command || next == st.command) {
		rest = 2 * usualSettle // what is held of a locked shaft goes to idle before it is held again
	}
	if rest > 0 {
		if err := st.hold(ctx, 0, rest); err != nil {
			return err
		}
	}
	if locked && command == next { // what comes is that level itself
		return nil
	}
	return st.hold(ctx, command, 2*usualSettle)
}

// point reads one level.
func (st *staircase) point(ctx context.Context, pt point) error {
	plan := &st.stand.Plan
	command := plan.Levels[pt.level]
	if err := st.near(ctx, approach(plan, pt.level, pt.direction), command); err != nil {
		return err
	}
	r := characteristic.Reading{Level: pt.level, Direction: pt.direction, Cycle: pt.cycle, Constant: math.NaN()}
	m, u, volts, why, err := st.dwell(ctx, command)
	if err != nil {
		return err
	}
	limited := st.sources.limited(nil, st.bench.Now()-plan.Window, st.bench.Now())
	r.At, r.Output, r.Standard = st.bench.Now(), m, u
	switch {
	case why != "":
		r.Status, r.Why, r.Output = characteristic.Dropped, why, math.NaN()
	case len(limited) > 0:
		r.Status, r.Why, r.Output = characteristic.Dropped, limitedWhy, math.NaN()
	case st.late || st.slow():
		r.Status, r.Why = characteristic.NotReached, "the shaft does not reach the speed that the brake holds"
	case st.held.Kind == file.AtSpeed && math.Abs(m-st.zero) <= 4*st.noise:
		r.Status, r.Why = characteristic.NotReached, "the brake has nothing to hold: it takes no torque"
	}
	add(st.set, pt.place, r)
	st.volts[pt.place] = append(st.volts[pt.place], volts)
	return nil
}

// slow says whether the shaft turns slower than the speed that a brake is to hold, as far as that is known.
func (st *staircase) slow() bool {
	v, ok := st.sources.speed(st.bench.Now())
	return ok && st.held.Kind == file.AtSpeed && math.Abs(v) < heldShare*st.held.Speed
}

// heldShare is the share of the held speed that has to be there: what frames of telemetry can tell apart is about a hundredth.
const heldShare = 0.97

// fine tries small changes about commands.
func (st *staircase) fine(ctx context.Context, cycle int, done func(what string)) error {
	plan := &st.stand.Plan
	for _, f := range fineChanges(plan) {
		if err := st.near(ctx, below(plan, f.at), f.at); err != nil {
			return err
		}
		before, ub, _, why, err := st.dwell(ctx, f.at)
		if err != nil {
			return err
		}
		after, ua, _, whyAfter, err := st.dwell(ctx, f.at+f.change)
		if err != nil {
			return err
		}
		done("small changes about " + percent(f.at))
		limited := st.sources.limited(nil, st.bench.Now()-plan.Window, st.bench.Now())
		if why+whyAfter == "" && len(limited) == 0 && !st.late && !st.slow() {
			st.set.Fine = append(st.set.Fine, characteristic.Fine{Level: f.at, Change: f.change, Reversal: f.reversal, Cycle: cycle, Before: before, Output: after, Standard: measure.RootSumSquare(ua, ub)})
		}
	}
	return nil
}
