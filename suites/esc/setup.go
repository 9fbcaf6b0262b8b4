package esc

import (
	"cmp"
	"context"
	"errors"
	"fmt"
	"math"
	"slices"

	"hilrig/assertions/characteristic"
	"hilrig/rig"
	"hilrig/rig/board"
	"hilrig/rig/signal"
	"hilrig/suites"
	"hilrig/suites/file"
	"hilrig/suites/record"
)

// Setup is a stand with what plays it.
type Setup struct {
	Stand *file.Stand
	ESC   string // of the simulated stand, by its name; empty: "linear"
	Seed  uint64
	// Real is the bench in real time that the stand is played on; nil: the simulated one. Where it takes a
	// board, the simulated stand is that board.
	Real *suites.Real
	// Bus reads the stand's converters on I2C; nil on a simulated stand, which has its own. It is asked for
	// once for each phase.
	Bus func() (BusReader, error)
}

// Options say how a setup is run. The zero value is fine.
type Options struct {
	Progress func(Progress) // called about ten times a second of the run's time and after each part
}

// Progress is how far a run has come.
type Progress struct {
	What        string // "55 % up"
	Done, Total int    // parts
	Driving     signal.Time
	Command     float64 // share of full
	Speed       float64 // rad/s; 0 where nothing tells it
}

// Outcome is what a run came to. Sets, Figures and Tables belong together.
type Outcome struct {
	Result        *record.Result // sealed
	Sets          []*characteristic.Set
	Figures       [][]characteristic.Figure
	Tables        []*characteristic.Table // nil where the characteristic cannot be inverted: see NotInvertible
	NotInvertible []string                // why, or empty
	Events        []Event
	Driving       signal.Time // how long was played in all
	AtRest        bool        // the shaft was seen at rest in the end; idle alone does not say so
	RestSeen      bool        // there is an encoder that could tell
}

// linearESC is the controller of a simulated stand where none is named.
const linearESC = "linear"

// phase is what is played on a bench opened once.
type phase interface {
	play(ctx context.Context, points []point, done func(what string)) error
	parts(points []point) int
}

// run is a run under way.
type run struct {
	setup   *Setup
	options Options
	events  events
	points  []point
	sets    []held
	done    int
	total   int
	driving signal.Time // of the phases that ended
	still   bool
	seen    bool
}

// held is the sets of one held condition.
type held struct {
	condition *file.HeldCondition
	set       *characteristic.Set // nil: it was not played
	constant  *characteristic.Set // nil: the supply is not known
	why       string              // why it was not played, or is not known
	from, to  signal.Time         // of the run
}

// Run plays the stand's plan and judges it. Where ctx is done, or a bound ends the run ([Tripped]), the outcome
// says NOT SHOWN with what was measured until then, and stands beside the error. Without an outcome nothing
// was played.
func (s *Setup) Run(ctx context.Context, o Options) (*Outcome, error) {
	r := &run{setup: s, options: o, points: order(&s.Stand.Plan, s.Seed)}
	for i := range s.Stand.Held {
		r.sets = append(r.sets, held{condition: &s.Stand.Held[i]})
	}
	if s.Stand.CSV != nil {
		r.dynamometer()
		return r.outcome(nil), nil
	}
	runUps := r.runUps()
	r.total = r.count(runUps)
	err := r.all(ctx, runUps)
	var broken *benchError
	if errors.As(err, &broken) && r.driving == 0 {
		return nil, broken.err
	}
	out := r.outcome(err)
	switch {
	case errors.Is(err, errBackwards), errors.Is(err, errNeverTurns), errors.Is(err, errTurnsAtIdle):
		err = nil // an event, and nothing was shown
	case broken != nil:
		err = broken.err
	}
	return out, err
}

// benchError is an error of the bench itself.
type benchError struct{ err error }

func (e *benchError) Error() string { return e.err.Error() }
func (e *benchError) Unwrap() error { return e.err }

// runUps returns the held conditions that run-ups read: groups that are played together.
func (r *run) runUps() (groups [][]*held) {
	var speeds, inertias []*held
	for i := range r.sets {
		h := &r.sets[i]
		switch c := h.condition; {
		case c.Kind == file.Inertia:
			inertias = append(inertias, h)
		case c.Kind == file.AtSpeed && c.By == file.ByRunUp:
			speeds = append(speeds, h)
		}
	}
	for _, g := range [][]*held{speeds, inertias} {
		if len(g) > 0 {
			slices.SortStableFunc(g, func(a, b *held) int { return cmp.Compare(a.condition.Speed, b.condition.Speed) })
			groups = append(groups, g)
		}
	}
	return groups
}

// count returns how many parts the run has.
func (r *run) count(groups [][]*held) (n int) {
	s := r.setup.Stand
	for range groups {
		n += (&spinUpPhase{stand: s}).parts(r.points)
	}
	for i := range r.sets {
		if r.sets[i].staircase() {
			n += (&staircase{stand: s}).parts(r.points)
		}
	}
	return n
}

func (h *held) staircase() bool {
	return h.condition.Kind == file.Locked || h.condition.Kind == file.AtSpeed && h.condition.By == file.ByBrake
}

// all plays all phases one after the other.
func (r *run) all(ctx context.Context, groups [][]*held) error {
	s := r.setup.Stand
	for _, g := range groups {
		if err := r.spin(ctx, g); err != nil {
			return err
		}
	}
	for i := range r.sets {
		h := &r.sets[i]
		if !h.staircase() {
			continue
		}
		var st *staircase
		err := r.phase(ctx, h.condition, []*held{h}, func(p *throttleLoop) phase {
			st = newStaircase(p, s, h.condition)
			return st
		})
		if st != nil {
			h.set = st.set
			r.atConstant(h, st.volts)
		}
		if err != nil {
			return err
		}
	}
	return nil
}

// spin plays the run-ups of a group.
func (r *run) spin(ctx context.Context, group []*held) error {
	s := r.setup.Stand
	var conditions []*file.HeldCondition
	for _, h := range group {
		conditions = append(conditions, h.condition)
	}
	var ph *spinUpPhase
	err := r.phase(ctx, conditions[0], group, func(p *throttleLoop) phase {
		ph = newSpinUpPhase(p, s, conditions)
		return ph
	})
	if ph != nil {
		ph.complete()
		for i, h := range group {
			h.set = ph.sets[i]
			r.atConstant(h, ph.volts[i])
		}
	}
	return err
}

// atConstant makes the readings at constant voltage, where the file says what feeds the controller.
func (r *run) atConstant(h *held, volts voltages) {
	supply := &r.setup.Stand.Supply
	switch {
	case supply.Voltage == nil:
		h.why = "the supply's voltage is not declared"
	case supply.SagAtFull != nil && h.set.Drag == nil:
		h.why = "the supply's fall is declared at full throttle, and drag, which takes a part of the current, is not known: " + h.set.DragWhy
	case supply.SagAtFull != nil:
		full, drop := *supply.Voltage, *supply.SagAtFull
		if h.constant = atConstantVoltage(h.set, full, 0, 2*dropKnown*drop, fallen(h.set, full, drop)); h.constant == nil {
			h.why = "the highest level was not read, at which the supply's fall is declared"
		}
	case supply.MeasuredBy == file.FromNothing && supply.Sag == nil:
		h.why = "the supply's voltage is neither measured nor its sag declared"
	default:
		if h.constant = atConstantVoltage(h.set, *supply.Voltage, r.voltageStep(), 0, volts); h.constant == nil {
			h.why = "the supply's voltage was not read with any reading"
			if supply.MeasuredBy == file.FromNothing {
				h.why = "the supply's sag is declared and its current is not measured"
			}
		}
	}
}

// telemetryVolt is the step of a voltage in a frame of telemetry, in V.
const telemetryVolt = 0.01

// voltageStep returns the step of what measures the supply's voltage, in V.
func (r *run) voltageStep() float64 {
	switch s := r.setup.Stand; s.Supply.MeasuredBy {
	case file.FromTelemetry:
		return telemetryVolt
	case file.FromBus:
		for i := range s.Bus {
			if b := &s.Bus[i]; b.Quantity == file.BusVoltage {
				return math.Abs(b.Scale)
			}
		}
	}
	return 0
}

// phase opens a bench, arms the controller, plays what make makes and leaves the bench at idle, whatever happened.
func (r *run) phase(ctx context.Context, h *file.HeldCondition, sets []*held, make func(*throttleLoop) phase) (err error) {
	bench, reader, err := r.open(h)
	if err != nil {
		return &benchError{err}
	}
	defer func() {
		if reader != nil {
			reader.Close()
		}
		if closed := bench.Close(); closed != nil && err == nil {
			err = &benchError{closed}
		}
	}()
	p, err := newThrottleLoop(r.setup.Stand, bench, &r.events)
	if err != nil {
		return &benchError{err}
	}
	p.sources.reader = reader
	p.work = r.setup.Real != nil && !r.setup.Real.Waits
	what := "arming"
	p.tell = func(p *throttleLoop) { r.tell(what, p) }
	for _, one := range sets {
		one.from = r.driving + bench.Now()
	}
	defer func() {
		p.leave()
		for _, one := range sets {
			one.to = r.driving + bench.Now()
		}
		r.driving += bench.Now()
		r.seen = r.seen || p.sources.shaft != nil
	}()
	for _, a := range r.setup.Stand.Throttle.Arm {
		if err := p.hold(ctx, a.Level, a.For); err != nil {
			return r.ended(err, p)
		}
	}
	if real := r.setup.Real; real != nil {
		what = "first turn"
		if err := p.firstTurn(ctx, real.First, h); err != nil {
			return r.ended(err, p)
		}
	}
	play := make(p)
	if err := play.play(ctx, r.points, func(next string) {
		r.done++
		what = next
		r.tell(what, p)
	}); err != nil {
		return r.ended(err, p)
	}
	what = "coming to rest"
	r.still, err = p.rest(ctx, mostRest)
	return r.ended(err, p)
}

// ended notes as an event what ended the run.
func (r *run) ended(err error, p *throttleLoop) error {
	var tripped *Tripped
	switch {
	case err == nil, errors.Is(err, context.Canceled), errors.Is(err, context.DeadlineExceeded):
		return err
	case errors.As(err, &tripped):
		r.events.add(tripped.At, "stop_at", tripped.Why, 1)
		if real := r.setup.Real; real != nil && real.Trip != nil && tripped.unobserved() {
			p.set(0)
			real.Trip(tripped.Bound == boundLevel)
		}
		return err
	case errors.Is(err, errBackwards), errors.Is(err, errNeverTurns), errors.Is(err, errTurnsAtIdle):
		r.events.add(p.bench.Now(), "encoder", err.Error(), 1)
		return err
	}
	return &benchError{err}
}

// tell tells how far the run has come.
func (r *run) tell(what string, p *throttleLoop) {
	if r.options.Progress == nil {
		return
	}
	v, _ := p.sources.speed(p.bench.Now())
	r.options.Progress(Progress{What: what, Done: r.done, Total: r.total, Driving: r.driving + p.bench.Now(), Command: p.command, Speed: v})
}

// open opens the bench of a phase, and what reads its converters on I2C.
func (r *run) open(h *file.HeldCondition) (rig.Bench, BusReader, error) {
	s := r.setup
	layout := s.Stand.Layout()
	var b board.Board
	var reader BusReader
	if s.Real == nil || s.Real.Board {
		st, err := s.simulatedStand(layout, h)
		if err != nil {
			return nil, nil, err
		}
		b, reader = st.board, st.reader(s.Stand)
		if v, ok := reader.(*virtualBus); ok && s.Real != nil && !s.Real.Waits {
			both := &beside{Stand: st.board}
			b, v.bus = both, busBeside{v.bus, both}
		}
	} else if s.ESC != "" {
		return nil, nil, fmt.Errorf("controller %s is one of the simulated stand, and this bench has one on its wires; leave it out", s.ESC)
	}
	var bench rig.Bench
	var err error
	if s.Real != nil {
		if s.Real.Shaft != nil {
			s.Real.Shaft(h.Kind != file.Locked)
		}
		bench, err = s.Real.Open(layout, b)
	} else {
		bench, err = openSimulated(layout, b)
	}
	if err != nil {
		return nil, nil, err
	}
	if s.Bus != nil {
		if reader, err = s.Bus(); err != nil {
			return nil, nil, errors.Join(err, bench.Close())
		}
	}
	if v, ok := reader.(*virtualBus); ok {
		v.now = bench.Now
	}
	return bench, reader, nil
}
