// Package rig is the loop that plays a car to a board: it steps the plant,
// turns its values to edges and frames, hands them to a [Bench], takes the
// edges that the bench captured, decodes them to motor commands, feeds those
// to the plant and appends all of it to a trace.
//
// A [Wiring] declares every wire between the rig and one board. A [Bench] is
// those wires, simulated or real; the loop does not know which, nor whether
// time is virtual. A [Rig] is the loop over one bench: [Rig.Play] plays one
// program, from where the last one ended, with no gap on the wires.
//
// # Units and signs
//
// SI units, ISO 8855 axes: x forward, y left, z up.
//
// # Time
//
// One tick is Wiring.Tick, 1 ms by default. The delay through the loop is the
// same on every bench: the edges of tick n are computed during tick n-1 from
// the commands that were complete by the end of tick n-2. [Delay] says so in words.
// What a program plays goes onto the wires as it is at the tick's beginning; what of it
// moves the car's model acts as it is in the tick's middle.
package rig

import (
	"cmp"
	"context"
	"fmt"

	"hilrig/plant"
	"hilrig/plant/portable"
	"hilrig/rig/decode"
	"hilrig/rig/signal"
	"hilrig/rig/trace"
	"hilrig/stimulus"
	"hilrig/stimulus/wire"
)

// Delay is the loop's fixed delay in words, for records.
const Delay = "two ticks: the edges of tick n are computed during tick n-1 from the commands complete by the end of tick n-2"

// Settings of a [Rig].
type Settings struct {
	Wiring Wiring
	Car    plant.Car
	Seed   uint64 // of the sensors' noise and of every phase
	// Repliers are those of the wiring's ports with requests, from [Wiring.Repliers],
	// which the bench has as responders.
	Repliers []*wire.Replier
	// Seen is called with the edges that came on the wires, none of which it may keep; nil
	// disables it. Driven edges of lines that the bench samples come as they were
	// sampled, others as they were handed over, before their time. Either are in order of
	// time for each line.
	Seen func(driven, captured []signal.Edge)
	// Ahead is how long the loop may run ahead of the bench in open loop: it hands over what is driven tick by tick, and lets
	// time pass and takes what came back once for all of it. That saves a bench in virtual time the way to a board which is far.
	// What the board gets and what stands in traces is the same. 0, and below two ticks, is never; it has no effect on a bench that is
	// not exact or answers requests, nor where Seen is told.
	Ahead signal.Time
}

// Rig plays programs into one bench. It is used by one goroutine.
type Rig struct {
	bench Bench
	seen  func(driven, captured []signal.Edge) // nil disables it
	tick  signal.Time
	model *plant.Model
	draw  portable.Noise // phases and rests
	hub   hub
	drivers
	faults  injection
	grids   grids
	busy    []signal.Time // by port: end of the last byte sent
	motor   [4]decode.MotorDecoder
	motorOf []int8 // by line: the motor that it carries, or -1

	next    signal.Time             // start of the tick that is computed next
	command [4]float64              // newest complete motor commands
	values  [trace.Channels]float64 // as played
	heading float64                 // rad, in open loop the integral of the yaw rate, from -pi to pi
	behind  bool                    // the loop leaves out ticks until it has come to the present
	ahead   ahead

	back    readback
	timing  Timing
	spare   trace.Trace // where programs go that nobody reads
	streams [][]signal.Edge
	edges   []signal.Edge
	taken   []signal.Edge // captured and not decoded yet
}

// New returns a rig over bench, whose layout has to be that of the wiring. The
// error names the wire that the wiring declares wrongly.
func New(bench Bench, s Settings) (*Rig, error) {
	s.Wiring.Tick = cmp.Or(s.Wiring.Tick, signal.Millisecond)
	model, err := plant.New(s.Car)
	if err != nil {
		return nil, err
	}
	r := &Rig{
		bench: bench,
		seen:  s.Seen,
		tick:  s.Wiring.Tick,
		model: model,
		draw:  portable.NewNoise(s.Seed, "phases"),
		hub:   hub{car: s.Car},
	}
	r.faults = newInjection(&r.drivers, bench.Layout(), r.tick, s.Seed)
	if r.back, err = newReadback(bench, &r.timing); err != nil {
		return nil, err
	}
	if err := r.wire(s); err != nil {
		return nil, err
	}
	r.back.pulses(r.pulse[:], bench.Layout())
	now := bench.Now()
	r.next = (now/r.tick + 1) * r.tick
	r.skipFrames()
	r.ahead.most = r.mostAhead(&s)
	return r, nil
}

// wire makes an encoder for each driven wire and a decoder for each captured one.
func (r *Rig) wire(s Settings) error {
	layout := r.bench.Layout()
	var missing error
	line := func(role signal.Role, wheel signal.Wheel) signal.Line {
		l, ok := layout.Find(role, wheel)
		if !ok && missing == nil {
			missing = fmt.Errorf("the bench has no line %q that the wiring declares", signal.Spec(role, wheel).Name)
		}
		return l
	}
	r.motorOf = make([]int8, len(layout.Lines))
	for i := range r.motorOf {
		r.motorOf[i] = -1
	}
	for i, wheel := range plant.Wheels {
		name := wheel.String()
		var err error
		if r.encoder[i], err = r.wheelSensor(s, wheel, line); err != nil {
			return fmt.Errorf("encoder of %s: %w", name, err)
		}
		m, err := s.Wiring.Motors[i].New()
		if err != nil {
			return fmt.Errorf("motor %s: %w", name, err)
		}
		r.motor[i] = m
		r.motorOf[line(signal.Motor, signal.Wheels[i])] = int8(i)
	}
	if err := r.wireReceiver(s.Wiring, line); err != nil {
		return err
	}
	if missing != nil {
		return missing
	}
	r.streams = make([][]signal.Edge, 0, len(r.encoder)+len(r.pulse))
	if err := r.wireSerial(s, layout); err != nil {
		return err
	}
	r.grids = newGrids(&r.drivers)
	return r.faults.wireDisturber(r.bench, s.Seed)
}

// phase draws a time in [0, period), even over it.
func (r *Rig) phase(period signal.Time) signal.Time {
	if period <= 0 {
		return 0
	}
	return signal.Time(r.draw.Uint64() % uint64(period))
}

// Now is the time since the run began.
func (r *Rig) Now() signal.Time { return r.bench.Now() }

// Commands returns the newest complete command of each motor, in the order of plant.Wheels.
func (r *Rig) Commands() [4]float64 { return r.command }

// Restart power-cycles the board; see [Bench.Restart].
func (r *Rig) Restart() error {
	r.command = [4]float64{}
	return r.bench.Restart()
}

// Settle plays v, held, for at least length and a drawn part of spread more, and
// keeps nothing of it. Every sensor's and receiver channel's frame grid moves by
// a drawn part of a frame, so that what follows meets the board at any phase.
func (r *Rig) Settle(ctx context.Context, v stimulus.Values, length, spread signal.Time) error {
	r.grids.dither(r.phase)
	p := stimulus.Held(v, length+r.phase(spread+1))
	return r.Play(ctx, p, nil)
}

// Play plays program p from the next tick on and fills tr, which it resets
// first; tr may be nil. The bench goes on from where the last program left it.
// The motor frames of the program's last two ticks are not yet in tr when Play
// returns: end a program with a tail that nobody reads.
// It stops at the end of a tick when ctx is done and returns ctx's error.
func (r *Rig) Play(ctx context.Context, p *stimulus.Program, tr *trace.Trace) error {
	if tr == nil {
		tr = &r.spare
	}
	r.skipAhead()
	if err := r.faults.prepare(p, r.next); err != nil {
		return err
	}
	r.grids.moves = p.Moves
	ticks := r.ticks(p)
	start := r.next
	tr.Reset(start, r.tick, ticks)
	done := ctx.Done()
	released := false
	for range ticks {
		select {
		case <-done:
			return cmp.Or(r.catchUp(tr), ctx.Err())
		default:
		}
		at := r.next - start
		closed := p.Closed && at >= p.Release
		if err := r.take(tr, closed); err != nil {
			return err
		}
		r.read(p, at)
		if closed {
			if !released {
				r.release()
				released = true
			}
			r.step(p, at)
		} else {
			r.hold(p, at)
		}
		r.log(tr)
		r.faults.inject(&r.values, at)
		r.grids.move(at)
		if err := r.put(tr); err != nil {
			return err
		}
		if err := r.pass(tr, closed); err != nil {
			return err
		}
		tr.Fold()
	}
	return r.catchUp(tr)
}

// ticks returns how many ticks a program lasts.
func (r *Rig) ticks(p *stimulus.Program) int { return int((p.Length + r.tick - 1) / r.tick) }

// MakeRoom empties tr and gives it the room that p needs, so that [Rig.Play] need
// not find it while time goes on.
func (r *Rig) MakeRoom(tr *trace.Trace, p *stimulus.Program) { tr.Reset(0, r.tick, r.ticks(p)) }

// read fills the tick's values from the program.
func (r *Rig) read(p *stimulus.Program, at signal.Time) {
	v := p.Values(at)
	r.values[trace.Speed] = v.Speed
	r.values[trace.YawRate] = v.YawRate
	r.values[trace.Steer] = v.Steer
	r.values[trace.Throttle] = v.Throttle
	r.values[trace.Gain] = v.Gain
}

// capture takes in what the bench captured and decodes it.
func (r *Rig) capture(tr *trace.Trace) error {
	var err error
	now := r.bench.Now() // before: of what comes meanwhile in real time only a part is taken
	r.taken, err = r.bench.Captured(r.taken)
	if err != nil {
		return err
	}
	r.decode(r.taken, now, tr)
	err = r.back.compare(tr)
	if r.seen != nil {
		r.seen(r.back.edges, r.taken)
	}
	r.taken = r.taken[:0]
	return err
}

// decode takes captured edges, which are all that came by the time now, and what they make of the motors' commands.
func (r *Rig) decode(edges []signal.Edge, now signal.Time, tr *trace.Trace) {
	var frames, events [4]int // of each motor, before
	for m := range r.motor {
		frames[m], events[m] = len(tr.Motor[m].Frames), len(tr.Motor[m].Events)
	}
	for _, e := range edges {
		if int(e.Line) >= len(r.motorOf) || r.motorOf[e.Line] < 0 {
			continue
		}
		if e.Uncertainty > 0 {
			r.timing.sampled(e, tr)
		}
		m := r.motorOf[e.Line]
		r.motor[m].Edge(e, &tr.Motor[m])
	}
	for m := range r.motor {
		o := &tr.Motor[m]
		r.motor[m].Until(now, o)
		r.timing.leftOut(o.Events[events[m]:])
		if c, ok := newest(o.Frames[frames[m]:], o.Events[events[m]:]); ok {
			r.command[m] = c
		}
	}
}

// newest returns the last command among frames and events of one line; a motor
// that is ordered to stop gets 0.
func newest(frames []trace.Frame, events []trace.Event) (command float64, ok bool) {
	var end signal.Time
	if n := len(frames); n > 0 {
		command, end, ok = frames[n-1].Value, frames[n-1].End, true
	}
	for _, e := range events {
		if e.Kind == trace.Stop && e.At >= end {
			command, ok = 0, true
		}
	}
	return command, ok
}

// log appends the tick's values to the trace.
func (r *Rig) log(tr *trace.Trace) {
	for m, c := range r.command {
		r.values[int(trace.MotorFrontLeft)+m] = c
	}
	for c := range r.values {
		tr.Column[c] = append(tr.Column[c], r.values[c])
	}
}

// put hands the tick that begins at r.next to the bench.
func (r *Rig) put(tr *trace.Trace) error {
	from, to := r.next, r.next+r.tick
	if r.leaveOut(tr) {
		return nil
	}
	r.skipFrames()
	r.streams = r.streams[:0]
	for i, e := range r.encoder {
		r.hub.edges[i] = e.Append(r.hub.edges[i][:0], from, to, r.faults.wires[int(trace.WheelFrontLeft)+i])
		r.streams = append(r.streams, r.hub.edges[i])
	}
	for _, p := range r.pulse {
		if p.encoder != nil {
			r.streams = append(r.streams, p.append(from, to, &r.faults.wires, tr))
		}
	}
	r.edges = signal.Merge(r.edges[:0], r.streams)
	whole := r.faults.pass(r.edges, from, to)
	if err := r.bench.Drive(whole, to); err != nil {
		return err
	}
	r.back.drive(whole)
	if r.seen != nil {
		r.seen(r.back.unsampled(whole), nil)
	}
	r.reply(from, tr)
	return r.send(to, tr)
}
