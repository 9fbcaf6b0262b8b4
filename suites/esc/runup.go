package esc

import (
	"context"
	"errors"
	"fmt"
	"math"
	"slices"

	"hilrig/assertions/measure"
	"hilrig/rig/decode"
	"hilrig/rig/signal"
	"hilrig/suites"
)

// turningRoom is room for a turning that is fitted.
type turningRoom = measure.Turning

var errMissed = errors.New("edges of the encoder were missed in between")

const (
	usualSettle  = 10 * signal.Millisecond // what a controller takes to follow, where that was not measured
	leastSettle  = 4 * signal.Millisecond
	mostSettle   = 200 * signal.Millisecond
	restShare    = 0.6 // of the lowest held speed: a run-up begins below it
	deepShare    = 0.1 // of it, where it is not known yet how fast a level turns up
	nearShare    = 0.7 // of it: the approach ends there at the latest
	usualLevel   = 20 * signal.Second
	usualCoast   = 120 * signal.Second
	levelBeyond  = 2 * signal.Second // a level may take so much longer than it took before, and twice that
	plateauOver  = 400 * signal.Millisecond
	plateauShare = 0.002 // of the lowest held speed, gained in plateauOver: less is a speed that rests
	plateauFirst = 600 * signal.Millisecond
	coastSettle  = 3 // as many times as long the controller's answer is waited for before a coast is read
)

// spinUp plays run-ups.
type spinUp struct {
	*throttleLoop
	speeds   []float64 // rad/s, the held speeds, rising
	top      float64   // rad/s, at which a level ends
	fromRest bool      // every run-up begins with the shaft at rest
	brakes   bool      // coasts are not read
	settle   signal.Time
	fitter   measure.Fitter
	room     turningRoom
	spare    []decode.AngleSample
	took     map[float64]signal.Time // by command: how long its level took
	gained   map[float64]float64     // by command: rad/s2, about
	fastest  float64                 // rad/s2 for a command of 1, of what was seen
}

// ran is what came of a run-up, at each held speed.
type ran struct {
	drive, coast []passed
	supply       []value       // V, in the level
	limited      []signal.Time // when the supply was at its limit of current
	from, to     signal.Time
	fastest      float64 // rad/s, at its end
}

// limitedAt says whether the supply was at its limit of current about a time.
func (r *ran) limitedAt(at signal.Time) bool {
	return slices.ContainsFunc(r.limited, func(t signal.Time) bool { return max(t-at, at-t) <= 2*silence/5 })
}

// passed is one pass through a held speed.
type passed struct {
	measure.Acceleration
	at  signal.Time
	why string // why there is none
	not bool   // the speed was not reached
}

func newSpinUp(p *throttleLoop, speeds []float64, margin float64, fromRest, brakes bool) *spinUp {
	u := &spinUp{
		throttleLoop: p, speeds: speeds, fromRest: fromRest, brakes: brakes, settle: usualSettle,
		took: map[float64]signal.Time{}, gained: map[float64]float64{},
	}
	highest := speeds[len(speeds)-1]
	u.top = highest + float64(highest*margin)
	p.bounds.turning = true
	// At a fifth of the lowest held speed a few edges have to come in the time.
	between := p.sources.shaft.rad / (speeds[0] / 5)
	p.bounds.patience = max(silence, signal.FromSeconds(slowest*between))
	return u
}

// speed is the shaft's, in the sense of the command where the encoder tells it.
func (u *spinUp) speed() float64 { return u.sources.shaft.speed() }

// begins returns the speed below which the run-up of a command begins: so low that the controller has answered by
// the time that the fit around the lowest held speed begins.
func (u *spinUp) begins(level, approach float64) float64 {
	low := u.speeds[0]
	gain, known := u.gained[level]
	if !known && u.fastest > 0 {
		gain, known = u.fastest*max(math.Abs(level), math.Abs(approach)), true
	}
	if !known {
		return deepShare * low
	}
	for _, x := range []float64{approach} {
		gain = max(gain, u.gained[x])
	}
	spent := 2*u.settle + 2*u.tick + 2*u.frame
	margin := (u.top - u.speeds[len(u.speeds)-1]) / u.speeds[len(u.speeds)-1]
	return max(min(low*(1-2*margin)-float64(gain*spent.Seconds()), restShare*low), 0.03*low)
}

// run plays one run-up of a command that is approached from another.
func (u *spinUp) run(ctx context.Context, level, approach float64) (*ran, error) {
	if err := u.slowDown(ctx, u.begins(level, approach)); err != nil {
		return nil, err
	}
	u.sources.mark()
	r := &ran{}
	if approach != 0 {
		if err := u.hold(ctx, approach, 0); err != nil {
			return nil, err
		}
		for end := u.next + u.settle + u.frame; u.next < end && u.speed() < nearShare*u.speeds[0]; {
			if err := u.turn(ctx); err != nil {
				return nil, err
			}
		}
	}
	not, err := u.level(ctx, level, r)
	if err != nil {
		return nil, err
	}
	r.supply = u.sources.volts(r.supply)
	r.limited = u.sources.limited(nil, r.from, r.to)
	return r, u.read(ctx, not, r)
}

// slowDown plays idle until the shaft turns more slowly than that, or rests where every run-up begins so.
func (u *spinUp) slowDown(ctx context.Context, below float64) error {
	u.set(0)
	u.bounds.level(u.next, usualCoast)
	defer u.bounds.over()
	for u.speed() >= below {
		if err := u.turn(ctx); err != nil {
			return err
		}
	}
	if !u.fromRest {
		return nil
	}
	still, err := u.rest(ctx, usualCoast)
	if err == nil && !still {
		u.events.add(u.bench.Now(), "encoder", "the shaft does not come to rest at idle", 1)
	}
	return err
}

// level plays the level until it has passed the highest held speed and the margin, or does not get there.
// It returns why it did not.
func (u *spinUp) level(ctx context.Context, level float64, r *ran) (not string, err error) {
	u.set(level)
	reckoned, known := u.took[level]
	if !known {
		reckoned = usualLevel
	} else {
		reckoned += levelBeyond
	}
	began, slow := u.next, u.speed()
	u.bounds.level(began, reckoned)
	var then signal.Time
	var thenSpeed float64
	for u.speed() < u.top {
		if err := u.turn(ctx); err != nil {
			return "", err
		}
		if r.from == 0 && u.stepped > 0 {
			r.from = u.stepped
		}
		v, now := u.speed(), u.bench.Now()
		if then == 0 || now-then >= plateauOver {
			if now-began >= plateauFirst && v-thenSpeed < plateauShare*u.speeds[0] {
				not = fmt.Sprintf("the speed does not rise beyond %.4g rad/s", v)
				break
			}
			then, thenSpeed = now, v
		}
		if u.backwards(v, slow, now-began) {
			return "", errBackwards
		}
	}
	r.to, r.fastest = u.next, u.speed()
	u.bounds.over()
	u.set(0)
	took := r.to - began
	u.took[level] = max(u.took[level], took)
	if v := u.speed(); not == "" && took > u.settle {
		gain := (v - min(slow, v)) / took.Seconds()
		u.gained[level] = gain
		if level != 0 {
			u.fastest = max(u.fastest, gain/math.Abs(level))
		}
	}
	return not, nil
}

// errBackwards says that the encoder counts the wrong way round.
var errBackwards = errors.New("the encoder counts backwards while the motor is driven ahead; swap its wires A and B, or write reverse under encoder")

// backwards says whether the shaft turns faster and faster backwards while it is driven ahead.
func (u *spinUp) backwards(v, began float64, after signal.Time) bool {
	low := u.speeds[0]
	return u.sources.shaft.signed && u.command > u.bounds.threshold && after > 4*u.settle && v < -nearShare*low && v < began-restShare*low
}

// read lets the shaft coast through the held speeds, and works out what was read.
func (u *spinUp) read(ctx context.Context, not string, r *ran) error {
	idle := u.next
	low := u.speeds[0]
	u.bounds.level(idle, usualCoast)
	reached := u.speed() >= low
	for reached && !u.brakes && u.speed() > restShare*low {
		if err := u.turn(ctx); err != nil {
			return err
		}
	}
	u.bounds.over()
	// What is still under way of the level's end is taken in.
	for range 2 {
		if err := u.turn(ctx); err != nil {
			return err
		}
	}
	if u.stepped > idle {
		idle = u.stepped
	}
	now := u.bench.Now()
	s := u.sources.shaft
	segment := shaft{samples: s.samples, rad: s.rad, line: s.line, once: s.once}
	s.samples, u.spare = u.spare[:0], nil
	err := u.beside(ctx, func() {
		for _, w := range u.speeds {
			r.drive = append(r.drive, u.drivePass(&segment, w, not, r))
			if !u.brakes && reached {
				r.coast = append(r.coast, u.pass(&segment, w, idle+coastSettle*u.settle, now))
			}
		}
	})
	u.spare = segment.samples
	return err
}

// drivePass reads the acceleration of the level at a held speed.
func (u *spinUp) drivePass(s *shaft, w float64, not string, r *ran) passed {
	from := r.from + u.settle
	if r.from == 0 || from >= r.to {
		if not != "" {
			return passed{why: not, not: true}
		}
		return passed{why: "the shaft passes the held speed before the controller has answered"}
	}
	var p passed
	if u.fromRest {
		p = u.mean(s, w, from, r.to)
	} else {
		p = u.pass(s, w, from, r.to)
	}
	if p.why != "" && not != "" && r.fastest < w {
		p.why, p.not = not, true
	}
	return p
}

// pass reads the acceleration at a held speed within from..to.
func (u *spinUp) pass(s *shaft, w float64, from, to signal.Time) passed {
	if err := s.turning(from, to, &u.room); err != nil {
		return passed{why: err.Error()}
	}
	a, err := u.fitter.AccelerationAt(w, &u.room)
	if err != nil {
		return passed{why: err.Error()}
	}
	return passed{Acceleration: a, at: from + signal.FromSeconds(a.At)}
}

// mean reads the mean acceleration from the beginning of from..to until the shaft has a speed.
func (u *spinUp) mean(s *shaft, w float64, from, to signal.Time) passed {
	p := u.pass(s, w, from, to)
	if p.why != "" {
		return p
	}
	n := 0 // entries of the first tenth of the time
	for n < len(u.room.Time) && u.room.Time[n] < p.At/10 {
		n++
	}
	if n < 3 {
		return passed{why: "too few edges at its beginning"}
	}
	span := u.room.Time[n-1] - u.room.Time[0]
	began := (u.room.Angle[n-1] - u.room.Angle[0]) / span
	middle := (u.room.Time[n-1] + u.room.Time[0]) / 2
	took := p.At - middle
	value := (w - began) / took
	off := s.line * math.Sqrt2 / span / took
	p.Acceleration.Estimate = measure.Estimate{Value: value, Statistical: off, Systematic: p.Systematic, DegreesOfFreedom: p.DegreesOfFreedom}
	return p
}

// beside does work while idle is played: where time goes on meanwhile, tick by tick.
func (p *throttleLoop) beside(ctx context.Context, work func()) error {
	if !p.work {
		work()
		return nil
	}
	return suites.Beside(work, func() error { return p.turn(ctx) })
}
