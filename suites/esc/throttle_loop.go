package esc

import (
	"context"
	"math"

	"hilrig/rig"
	"hilrig/rig/decode"
	"hilrig/rig/signal"
	"hilrig/stimulus/wire"
	"hilrig/suites/file"
)

// throttleLoop plays the throttle over a bench, tick by tick, and hears the sources.
type throttleLoop struct {
	bench    rig.Bench
	tick     signal.Time
	next     signal.Time // when the tick begins that is handed over next
	handed   signal.Time // up to when all is handed over: no command is under way then
	throttle *wire.ThrottleEncoder
	frame    signal.Time
	command  float64
	sources  *sources
	bounds   bounds
	events   *events
	tell     func(p *throttleLoop) // progress; nil where nobody asks

	steered      float64     // what step watches for
	stepped      signal.Time // when the frame ended that carried it first; 0: not yet
	edges, taken []signal.Edge
	clock        []signal.Edge
	back         []signal.Edge
	streams      [2][]signal.Edge
	work         bool // work beside the loop goes to a goroutine: time does not rest meanwhile
	reported     signal.Time
}

// throttleOf returns what the stand's throttle line carries.
func throttleOf(s *file.StandThrottle) wire.Throttle {
	m := &s.Motor
	t := wire.Throttle{Frame: signal.FromSeconds(1 / s.Rate), Inverted: m.Inverted()}
	t.Format, _ = wire.ThrottleFormatNamed(m.Kind.String())
	if m.Kind.Digital() {
		t.TwoDirection, t.ForwardLower, t.StopIsIdle = m.DShot.TwoDirection, m.DShot.ForwardLower, m.DShot.StopIsIdle
		return t
	}
	p := m.Pulse()
	t.Idle, t.Full, t.WithNeutral = p.Idle, p.Full, m.Lowest() < 0
	return t
}

// newThrottleLoop returns a loop over a bench that was just opened.
func newThrottleLoop(s *file.Stand, bench rig.Bench, e *events) (*throttleLoop, error) {
	layout := bench.Layout()
	line, _ := layout.Find(signal.ThrottleCommand, signal.NoWheel)
	now := bench.Now()
	p := &throttleLoop{bench: bench, tick: s.Tick, next: (now/s.Tick + 1) * s.Tick, events: e}
	cfg := throttleOf(&s.Throttle)
	p.frame = cfg.Frame
	var err error
	if p.throttle, err = wire.NewThrottle(cfg, line, p.next); err != nil {
		return nil, err
	}
	if p.sources, err = newSources(s, layout, e); err != nil {
		return nil, err
	}
	if c := p.sources.cell; c != nil {
		c.readBack = !bench.Exact() && bench.Samples(c.clockLine)
	}
	if !bench.Exact() {
		if p.back, err = bench.ReadBack(p.back[:0]); err != nil {
			return nil, err
		}
	}
	p.bounds = bounds{stop: s.StopAt, first: -1, threshold: 1, driven: -1, patience: silence}
	p.began()
	return p, nil
}

// began notes that the sources are as if heard now: none has been silent yet.
func (p *throttleLoop) began() {
	s := p.sources
	now := p.bench.Now()
	if s.shaft != nil {
		s.shaft.angle.Reset(now, false, false)
		s.shaft.moved = now
	}
	if s.telemetry != nil {
		s.telemetry.decoder.Reset(now)
		s.telemetry.heard = now
	}
	if s.cell != nil {
		s.cell.decoder.Reset(now)
		s.cell.heard = now
	}
}

// set has a command played from the next tick on.
func (p *throttleLoop) set(command float64) {
	if command == p.command {
		return
	}
	p.command, p.sources.command = command, command
	p.bounds.command(p.next, command)
	p.steered, p.stepped = p.throttle.Encoded(command), 0
}

// mostBehind is how many ticks the loop may be behind the bench's time and still hand over edges of the past.
const mostBehind = 5

// turn plays one tick. It returns ctx's error once ctx is done, and a [Tripped] where a bound is passed.
func (p *throttleLoop) turn(ctx context.Context) error {
	select {
	case <-ctx.Done():
		return ctx.Err()
	default:
	}
	if err := p.hear(); err != nil {
		return err
	}
	if t := p.bounds.check(p.bench.Now(), p.sources); t != nil {
		return t
	}
	return p.play()
}

// hear takes what was captured.
func (p *throttleLoop) hear() error {
	now := p.bench.Now() // before: of what comes meanwhile in real time only a part is taken
	var err error
	if p.taken, err = p.bench.Captured(p.taken[:0]); err != nil {
		return err
	}
	if !p.bench.Exact() {
		if p.back, err = p.bench.ReadBack(p.back[:0]); err != nil {
			return err
		}
		p.sources.addReadBack(p.back)
	}
	p.sources.decode(p.taken, now)
	if p.stepped == 0 {
		if f, ok := p.throttle.Sent(); ok && f.Command == p.steered {
			p.stepped = f.End
		}
	}
	if p.tell != nil && now-p.reported >= reportEvery {
		p.reported = now
		p.tell(p)
	}
	return nil
}

// reportEvery is how often progress is reported at most.
const reportEvery = 100 * signal.Millisecond

// play hands over the next tick and waits for its beginning.
func (p *throttleLoop) play() error {
	now := p.bench.Now()
	if now-p.next > mostBehind*p.tick {
		p.next = (now/p.tick + 1) * p.tick
		p.events.add(now, "throttle", "the loop was late, and commands were left out", 1)
	}
	if from, to := max(p.handed, p.next), p.next+p.tick; from < to {
		if err := p.hand(from, to); err != nil {
			return err
		}
	}
	if err := p.bench.Wait(p.next); err != nil {
		return err
	}
	p.next += p.tick
	return nil
}

// hand hands over what is played from from to to, and further to the end of a command that is under way
// then: one that is handed over whole keeps its width, however late the next tick comes.
func (p *throttleLoop) hand(from, to signal.Time) error {
	p.edges = p.throttle.Append(p.edges[:0], from, to, p.command)
	if f, ok := p.throttle.Sent(); ok && f.End >= to {
		p.edges = p.throttle.Append(p.edges, to, f.End+1, p.command)
		to = f.End + 1
	}
	p.handed = to
	edges := p.edges
	if c := p.sources.cell; c != nil {
		p.clock = c.append(p.clock[:0], from, to)
		if len(p.clock) > 0 {
			if !c.readBack {
				for _, e := range p.clock {
					c.decoder.Edge(e)
				}
			}
			p.streams[0], p.streams[1] = p.edges, p.clock
			p.taken = signal.Merge(p.taken[:0], p.streams[:])
			edges = p.taken
		}
	}
	return p.bench.Drive(edges, to)
}

// addReadBack adds the edges of driven lines that were read back: those of the load cell's clock.
func (s *sources) addReadBack(edges []signal.Edge) {
	if s.cell == nil || !s.cell.readBack {
		return
	}
	for _, e := range edges {
		if e.Line == s.cell.clockLine {
			s.cell.decoder.Edge(e)
		}
	}
}

// hold plays a command for a span.
func (p *throttleLoop) hold(ctx context.Context, command float64, span signal.Time) error {
	p.set(command)
	for end := p.next + span; p.next < end; {
		if err := p.turn(ctx); err != nil {
			return err
		}
	}
	return nil
}

// stillFor is for how long no edge has to come for a shaft to be at rest.
const stillFor = 250 * signal.Millisecond

// rest plays idle until the shaft is at rest, for so long at most. Without an encoder nobody knows
// whether it is, and still is false.
func (p *throttleLoop) rest(ctx context.Context, most signal.Time) (still bool, err error) {
	p.set(0)
	if p.sources.shaft == nil {
		return false, p.hold(ctx, 0, min(most, stillFor))
	}
	from := p.next
	for end := p.next + most; p.next < end; {
		if err := p.turn(ctx); err != nil {
			return false, err
		}
		if now := p.bench.Now(); now-max(p.sources.shaft.moved, from) >= stillFor {
			return true, nil
		}
	}
	return false, nil
}

// farewell is for how long idle is sent before the line falls silent.
const farewell = 100 * signal.Millisecond

// leave ends whatever is played: idle first, whatever came before, then silence.
func (p *throttleLoop) leave() {
	p.set(0)
	p.bounds.over()
	silent := p.next + farewell
	for end := silent + p.frame + 2*p.tick; p.next < end; { // a pulse under way ends as one
		p.throttle.SetSilent(p.next >= silent)
		if p.hear() != nil || p.play() != nil {
			break
		}
	}
	_ = p.bench.Safe() // Close says what is to be said
}

// turning fills t with the shaft's angle within from..to, times in s from from on. The error says why there is none.
func (s *shaft) turning(from, to signal.Time, t *turningRoom) error {
	t.Time, t.Angle, t.Stamp, t.Line = t.Time[:0], t.Angle[:0], t.Stamp[:0], s.line
	t.Once = s.once
	var first decode.AngleSample
	for i := range s.samples {
		x := &s.samples[i]
		if x.At < from {
			continue
		}
		if x.At > to {
			break
		}
		if len(t.Time) == 0 {
			first = *x
		} else if x.Break {
			return errMissed
		}
		half := x.Uncertainty / 2
		at := float64((x.At - from) - half)
		t.Time = append(t.Time, at*1e-9)
		t.Angle = append(t.Angle, s.rad*float64(x.Count-first.Count))
		t.Stamp = append(t.Stamp, float64(x.Uncertainty)*1e-9/math.Sqrt(12))
	}
	return nil
}
