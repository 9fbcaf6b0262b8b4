package file

import (
	"fmt"
	"slices"
	"strings"

	"hilrig/assertions/characteristic"
	"hilrig/suites/language"
)

// LintStand returns what is odd about a stand that can be played: limits of which nothing can
// be said, and what is measured for nothing.
func LintStand(s *Stand) language.Warnings {
	w := &standLinter{stand: s}
	if len(s.Plan.Levels) < fewestLevels && s.Plays() && s.Limits.Linearity != nil {
		w.at(s.Held[0].Place, fmt.Sprintf("linearity is judged from %d levels on, and the plan has %d", fewestLevels, len(s.Plan.Levels)), "plan more levels, or leave the limit out")
	}
	w.drag()
	w.supply()
	w.unplayed()
	w.slow()
	w.undecidedLimits()
	w.unmoved()
	w.fromRest()
	w.edges()
	for i := range s.Held {
		h := &s.Held[i]
		if h.Kind == Locked && s.Plays() && s.Plan.Rest == 0 {
			w.at(h.Place, "the shaft is locked and the plan gives no rest: all power heats the motor", "add rest: 1 s under plan")
		}
	}
	for _, source := range s.Sources {
		idle := source == FromLoadCell && !slices.ContainsFunc(s.Held, func(h HeldCondition) bool { return s.TorqueBy(&h) == source })
		if idle {
			w.at(s.Held[0].Place, fmt.Sprintf("%s is measured and gives no torque under what is held", source), "hold the shaft locked or a speed by: brake, or put it first under measure")
		}
	}
	return append(slices.Clone(s.notes), w.warnings...)
}

// fewestLevels is how many levels linearity needs.
const fewestLevels = 8

// standLinter collects warnings of a stand.
type standLinter struct {
	stand    *Stand
	warnings language.Warnings
}

func (w *standLinter) at(p language.Place, message, remedy string) {
	q := language.Problem{Place: p, Message: message, Remedy: remedy, Level: language.Warning}
	w.warnings = append(w.warnings, w.stand.Source.Shown(q))
}

// drag warns of limits that stay undecided where drag is not known.
func (w *standLinter) drag() {
	s := w.stand
	if s.SpinUp == nil || s.SpinUp.Coast != Brakes {
		return
	}
	var asked []string
	if l := s.Limits.Linearity; l != nil && l.Sense == characteristic.ZeroBased {
		asked = append(asked, "zero-based linearity")
	}
	if s.Limits.StartThreshold != nil {
		asked = append(asked, "the start threshold")
	}
	for i := range s.Held {
		if h := &s.Held[i]; len(asked) > 0 && s.TorqueBy(h) == FromSpinUp {
			w.at(h.Place, fmt.Sprintf("the controller brakes at idle, so that drag is not known: %s will stay undecided", strings.Join(asked, " and ")), "switch its brake off and write coast: freewheels, or coast: unplugged, or limit independent or terminal-based linearity")
			return
		}
	}
}

// supply warns where nothing is known of the supply.
func (w *standLinter) supply() {
	s := w.stand
	current := s.Telemetry != nil && s.Telemetry.Current == SupplyCurrent
	if b := s.busSensor(BusCurrent); b != nil && b.Current == SupplyCurrent {
		current = true
	}
	switch {
	case !s.Plays() || s.Supply.MeasuredBy != FromNothing || s.Supply.SagAtFull != nil:
	case s.Supply.Sag == nil:
		w.at(s.Held[0].Place, "nothing is known of how the supply sags, so that figures at constant voltage are left out", "add supply: {measured_by: telemetry}, or its voltage and sag_at_full")
	case !current:
		w.at(s.Held[0].Place, "the supply's sag is declared for each ampere and its current is not measured, so that figures at constant voltage are left out", "write sag_at_full in place of sag, or measure the supply's current")
	}
}

// unplayed warns of limits of which a dynamometer's file says nothing.
func (w *standLinter) unplayed() {
	l := &w.stand.Limits
	if w.stand.Plays() {
		return
	}
	var asked []string
	for _, one := range []struct {
		name  string
		limit *float64
	}{{"dead_band", l.DeadBand}, {"resolution", l.Resolution}, {"drift", l.Drift}, {"delay", l.Delay}, {"rise_time", l.Rise}} {
		if one.limit != nil {
			asked = append(asked, one.name)
		}
	}
	if len(asked) > 0 {
		w.at(w.stand.Held[0].Place, fmt.Sprintf("a file has levels alone, no small changes, no steps and no first point at the end: %s will stay undecided", strings.Join(asked, ", ")), "leave these limits out")
	}
}
