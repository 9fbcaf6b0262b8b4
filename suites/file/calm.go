package file

import (
	"slices"

	"hilrig/assertions"
	"hilrig/assertions/law"
	"hilrig/plant"
	"hilrig/rig/signal"
	"hilrig/rig/trace"
	"hilrig/stimulus"
)

const (
	// clearAtLeast is the share of a drive's commands that have to have a clear declared shift
	// for it to be asked of the board: half as much again as the check wants.
	clearAtLeast = 0.015
	// logPace is how often a drive is looked at.
	logPace = 10 * signal.Millisecond
)

// calm notes of a replayed drive that the policy asks for a clear shift in it too rarely.
func (b *caseBuilder) calm(c *Case) {
	l := b.law()
	if l == nil || c.Closed || !b.v.Written("replay") {
		return
	}
	if b.anyPolicy && !b.curveIsKnown() {
		c.Expect = slices.Clone(c.Expect) // that of the other variants as well
		for i := range c.Expect {
			if x, ok := c.Expect[i].Check.(assertions.PolicyBranch); ok && x.Of == "follows" {
				c.Expect[i].NotAsked = "the policy has no throttle_curve that is none or calibrated, by which the commands of a drive could be known"
			}
		}
		return
	}
	dead := b.car.Policy.DeadShiftFor(0)
	for i := range c.Steps {
		if s := &c.Steps[i]; len(s.Shapes) > 0 && b.anyPolicy {
			h := s.history(b.car, b.bench)
			if h.Curve = b.curve; h.Curve == nil && b.car.Policy.ThrottleCurve != law.ThrottleCurveNone {
				h.Curve = law.Identity()
			}
			s.calm = s.clearShare(l, &h, dead) < clearAtLeast
		}
	}
}

// curveIsKnown says whether it is known what the firmware makes of the throttle, or will be by when the drive is judged:
// nothing, or what is measured as a run begins.
func (b *caseBuilder) curveIsKnown() bool {
	p := &b.car.Policy
	return p.ThrottleCurve == law.ThrottleCurveNone || p.ThrottleCurve == law.ThrottleCurveCalibrated
}

// clearShare returns of what share of all motors' commands in a step, which plays h, the law surely asks that
// they differ from those with no shift by more than dead.
func (s *Step) clearShare(l *law.Law, h *law.History, dead float64) float64 {
	clear, all := 0, 0
	for at := signal.Time(0); at <= s.Observe; at += 2 * logPace {
		a, ok := l.Frame(h, at)
		if !ok || a.Missing != "" {
			continue
		}
		for w := range plant.Wheels {
			all++
			if c, u := a.Commands[w], a.Unshifted[w]; u.High < c.Low-dead || u.Low > c.High+dead {
				clear++
			}
		}
	}
	if all == 0 {
		return 0
	}
	return float64(clear) / float64(all)
}

// history returns what a step plays, and what it holds before, of the receiver as often as the slowest of its wires tells it.
func (s *Step) history(car *Car, bench *Bench) law.History {
	h := law.History{SteerOpen: assertions.SteerOpen}
	w := &bench.Wiring
	receiver := max(w.Steer.Frame, w.Throttle.Frame, w.Gain.Frame, w.Bus.Period)
	for _, one := range []struct {
		c    trace.Channel
		to   *law.Series
		wire signal.Time
	}{
		{trace.Steer, &h.Steer, receiver},
		{trace.Throttle, &h.Throttle, receiver},
		{trace.Gain, &h.Gain, receiver},
		{trace.YawRate, &h.YawRate, 0}, {trace.Speed, &h.Speed, 0},
	} {
		way, pace := s.moves(one.c), max(logPace, one.wire)
		for at := signal.Time(0); at <= s.Observe; at += pace {
			one.to.Add(at, way.At(at))
		}
	}
	speed, yawRate, steer := s.moves(trace.Speed), s.moves(trace.YawRate), s.moves(trace.Steer)
	for at := signal.Time(0); at <= s.Observe; at += logPace {
		for i, v := range assertions.Slipping(car.Car.HubSpeeds(speed.At(at), yawRate.At(at), steer.At(at)), &s.Slip) {
			h.Wheels[i].Add(at, v)
		}
	}
	return h
}

// moves returns how a channel goes in a step: along its shape, or held.
func (s *Step) moves(c trace.Channel) stimulus.Shape {
	for _, m := range s.Shapes {
		if m.Channel == c {
			return m.Shape
		}
	}
	if x := ValueOf(&s.Values, c); x != nil {
		return stimulus.Hold(*x)
	}
	return stimulus.Hold(0)
}
