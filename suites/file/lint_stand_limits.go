package file

import (
	"fmt"
	"math"
	"strings"

	"hilrig/rig/signal"
	"hilrig/suites/language"
)

// undecidedLimits warns of limits that what is played never decides.
func (w *standLinter) undecidedLimits() {
	s, l := w.stand, &w.stand.Limits
	if !s.Plays() {
		return
	}
	if l.FirstTenth != nil && len(s.Plan.Levels) >= fewestLevels && !s.tenthHoldsTwo() {
		w.at(s.Held[0].Place, "no tenth of the plan's levels holds two of them: first_tenth will stay undecided", "plan levels closer together, as count: 21, or leave the limit out")
	}
}

// tenthHoldsTwo says whether the first tenth of what can be read holds two levels, wherever that begins. In a
// run-up the lowest that can be read is above 0.
func (s *Stand) tenthHoldsTwo() bool {
	x := s.Plan.Levels
	n := len(x)
	runUp := false
	for i := range s.Held {
		runUp = runUp || s.Held[i].Kind == Inertia || s.Held[i].Kind == AtSpeed && s.Held[i].By == ByRunUp
	}
	for i := 0; i+1 < n; i++ {
		if (x[i] > 0 || !runUp) && x[i+1] <= x[i]+float64(0.1*(x[n-1]-x[i]))+1e-9 {
			return true
		}
	}
	return false
}

// unmoved warns of limits below the least change that is played, which nothing can pass.
func (w *standLinter) unmoved() {
	s, l := w.stand, &w.stand.Limits
	if !s.Plays() {
		return
	}
	share := language.Share.Format
	p := &s.Plan
	if span := p.Levels[len(p.Levels)-1] - p.Levels[0]; len(p.FineSteps) > 0 && span > 0 {
		least := p.FineSteps[0] / span
		for _, one := range []struct {
			name  string
			limit *float64
		}{{"dead_band", l.DeadBand}, {"resolution", l.Resolution}} {
			if one.limit != nil && *one.limit < least {
				w.at(s.Held[0].Place, fmt.Sprintf("the least change of command that is tried is %s of their span, and %s is to be %s at most: it cannot be shown", share(least), one.name, share(*one.limit)), "begin fine_steps under plan with a smaller one")
			}
		}
	}
	if x := l.StartThreshold; x != nil && *x < p.StartStep && s.SpinUp != nil {
		w.at(s.Held[0].Place, fmt.Sprintf("the search for the first command that moves the shaft goes by %s, and start_threshold is to be %s at most: it cannot be shown", share(p.StartStep), share(*x)), "give a smaller start_step under plan")
	}
}

// fromRest warns that a mean over speeds is no figure of the controller alone.
func (w *standLinter) fromRest() {
	s, l := w.stand, &w.stand.Limits
	var asked []string
	if l.Linearity != nil {
		asked = append(asked, "linearity")
	}
	if l.FirstTenth != nil {
		asked = append(asked, "first_tenth")
	}
	for i := range s.Held {
		if h := &s.Held[i]; len(asked) > 0 && h.Kind == Inertia {
			w.at(h.Place, fmt.Sprintf("the mean acceleration from rest of a motor that is fed with a voltage bends with its throttle even where the controller is linear: %s will judge the motor too", strings.Join(asked, " and ")), "limit that at a held speed, as {kind: speed, at: 60 rad/s}")
			return
		}
	}
}

// fewestEdges is how many edges a reading needs.
const fewestEdges = 16

// edges warns where full throttle passes a held speed within fewer edges than a reading needs.
func (w *standLinter) edges() {
	s := w.stand
	if s.SpinUp == nil || s.Disc == nil {
		return
	}
	e := &s.SpinUp.Encoder
	turn := 4 * e.Lines
	name := "encoder"
	if e.Pulses > 0 {
		turn, name = 2*e.Pulses, "tacho"
	}
	for i := range s.Held {
		h := &s.Held[i]
		if h.Kind == Locked || h.Kind == AtSpeed && h.By == ByBrake {
			continue
		}
		top := h.Speed * (1 + s.Plan.Margin)
		n := top * top / (2 * s.Disc.Acceleration) * float64(turn) / (2 * math.Pi)
		if n < fewestEdges {
			w.at(h.Place, fmt.Sprintf("at %.4g rad/s2 the %s gives %.0f edges up to %s and its margin, and a reading takes %d: high levels may stay unread", s.Disc.Acceleration, name, n, h, fewestEdges), "hold a higher speed, or put more inertia or lines on the shaft")
			return
		}
	}
}

// slow warns of limits on times of a step that lie below what readings at their rate can tell apart.
func (w *standLinter) slow() {
	s := w.stand
	if !s.Plays() || s.Limits.Delay == nil && s.Limits.Rise == nil {
		return
	}
	for i := range s.Held {
		h := &s.Held[i]
		rate, name := 0.0, ""
		switch source := s.TorqueBy(h); source {
		case FromLoadCell:
			rate, name = s.LoadCell.Rate, source.String()
		case FromBus:
			rate, name = s.busSensor(BusCurrent).Rate, source.String()
		}
		if rate == 0 {
			continue
		}
		every := signal.FromSeconds(1 / rate)
		var asked []string
		for _, one := range []struct {
			name  string
			limit *float64
		}{{"delay", s.Limits.Delay}, {"rise_time", s.Limits.Rise}} {
			if one.limit != nil && signal.FromSeconds(*one.limit) <= every {
				asked = append(asked, one.name)
			}
		}
		if s.Plan.Step.Hold < fewestAround*every {
			w.at(h.Place, fmt.Sprintf("%s reads every %s, and a step is held for %s: its delay and rise time will stay undecided", name, span(every), span(s.Plan.Step.Hold)), fmt.Sprintf("write step_hold: %s or more under plan", span(fewestAround*every)))
		} else if len(asked) > 0 {
			w.at(h.Place, fmt.Sprintf("%s reads every %s, between two of which nothing is known: %s below that will stay undecided", name, span(every), strings.Join(asked, " and ")), "give a longer limit, or a source that reads faster")
		}
	}
}

// fewestAround is how many readings there have to be in the hold of a step: three in the last third of it.
const fewestAround = 10
