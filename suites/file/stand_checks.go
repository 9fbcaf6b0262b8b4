package file

import (
	"fmt"
	"slices"

	"hilrig/rig/signal"
	"hilrig/suites/language"
)

// standsUp reports what a stand asks for that it cannot measure or must not do. Everything in
// the file was read without problems.
func (r *reader) standsUp(d *Stand, v *language.Mapping) {
	if d.Plays() {
		for i := range d.Held {
			r.measurable(d, v, &d.Held[i])
		}
		r.planned(d, v.Sub("plan"))
		r.speeds(d, v)
	}
	for i := range d.Held {
		if h := &d.Held[i]; h.Kind == Inertia && !d.Plays() {
			r.reportAt(h.Place, "a file has torque at a speed or of a locked shaft, and no mean acceleration", "write kind: speed, or kind: locked")
		}
	}
	if x := v.Sub("limits").Get("drift"); x != nil && !d.Plan.FirstAgain {
		r.Report(x.Key, "a drift is asked for, and the plan does not read the first point again", "leave out first_again: no")
	}
	if d.Kind == "raspberry" && len(r.Problems) == 0 {
		r.onPins(d, v)
	}
}

// reportAt reports a problem at a place of the file.
func (r *reader) reportAt(p language.Place, message, remedy string) {
	q := language.Problem{Place: p, Message: message, Remedy: remedy}
	q = r.Source.Shown(q)
	if !slices.Contains(r.Problems, q) {
		r.Problems = append(r.Problems, q)
	}
}

// TorqueBy returns what gives the torque under a held condition: of what can, the one that
// stands first in the file; FromNothing where nothing can.
func (s *Stand) TorqueBy(h *HeldCondition) StandSource {
	for _, source := range s.Sources {
		switch source {
		case FromSpinUp:
			if h.Kind == Inertia || h.Kind == AtSpeed && h.By == ByRunUp {
				return source
			}
		case FromLoadCell:
			if h.Kind == Locked || h.Kind == AtSpeed && h.By == ByBrake {
				return source
			}
		case FromTelemetry:
			if s.Telemetry != nil && s.torqueByCurrent(h, &s.Telemetry.MotorCurrent) {
				return source
			}
		case FromBus:
			if b := s.busSensor(BusCurrent); b != nil && s.torqueByCurrent(h, &b.MotorCurrent) {
				return source
			}
		case FromCSV:
			if h.Kind != Inertia {
				return source
			}
		}
	}
	return FromNothing
}

// torqueByCurrent says whether a current gives the torque: that of the phases times the torque
// constant, but in a run-up; that of the supply by power, which needs a speed and a voltage.
func (s *Stand) torqueByCurrent(h *HeldCondition, c *MotorCurrent) bool {
	if h.Kind == Inertia || h.Kind == AtSpeed && h.By == ByRunUp {
		return false
	}
	switch c.Current {
	case PhaseCurrent:
		return c.TorqueConstant != nil
	case SupplyCurrent:
		return h.Kind == AtSpeed && c.WindingResistance != nil && s.MeasuresSpeed() && (s.Telemetry != nil || s.onBus(BusVoltage) || s.Supply.Voltage != nil)
	}
	return false
}

// MeasuresSpeed says whether anything measures the speed of the shaft.
func (s *Stand) MeasuresSpeed() bool { return s.SpinUp != nil || s.Telemetry != nil }

// measurable reports a held condition under which no torque is measured.
func (r *reader) measurable(d *Stand, v *language.Mapping, h *HeldCondition) {
	byRunUp := h.Kind == Inertia || h.Kind == AtSpeed && h.By == ByRunUp
	switch {
	case h.Kind == AtSpeed && !d.MeasuresSpeed():
		r.reportAt(h.Place, fmt.Sprintf("%s is held, and nothing measures the speed of the shaft", h), "add spin_up or telemetry under measure")
	case byRunUp && d.SpinUp == nil:
		r.reportAt(h.Place, fmt.Sprintf("%s needs a run-up, and measure has no spin_up", h), "add spin_up: {encoder: {kind: quadrature, lines: 256}} under measure, or hold a speed by: brake")
	case d.TorqueBy(h) != FromNothing:
	case h.Kind == Locked:
		r.reportAt(h.Place, "the shaft is locked, and neither a load cell nor a phase current measures its torque", "add load_cell under measure, or telemetry with current: phase and its torque_constant; the supply's current says nothing of the torque of a locked shaft")
	default:
		r.reportAt(h.Place, fmt.Sprintf("%s is held by a brake, and nothing measures the torque", h), "add load_cell under measure, or the phase current with its torque_constant, or that of the supply with the winding_resistance")
	}
	if h.Kind == Locked && h.LevelLimit < d.Plan.Dwell {
		r.reportAt(h.Place, fmt.Sprintf("a level is held for %s, and level_limit of the locked shaft is %s", span(d.Plan.Dwell), span(h.LevelLimit)), "give a shorter dwell under plan")
	}
	if source := d.TorqueBy(h); !byRunUp && source == FromLoadCell && d.Plan.Window.Seconds()*d.LoadCell.Rate < 2 {
		r.reportAt(r.placeIn(v, "measure", "load_cell", "rate"), fmt.Sprintf("the load cell gives fewer than two readings in the window of %s", span(d.Plan.Window)), "give a longer window and dwell under plan")
	}
	r.seldom(d, v, h)
}

// seldom reports a converter on the bus that gives the torque and is read too seldom for the window.
func (r *reader) seldom(d *Stand, v *language.Mapping, h *HeldCondition) {
	if b := d.busSensor(BusCurrent); d.TorqueBy(h) == FromBus && d.Plan.Window.Seconds()*b.Rate < 2 {
		r.reportAt(r.placeIn(v, "measure", "bus_sensor"), fmt.Sprintf("the bus_sensor of the current gives fewer than two readings in the window of %s", span(d.Plan.Window)), "read it at a higher rate, or give a longer window and dwell under plan")
	}
}

// placeIn returns where the value of the last of nested keys stands.
func (r *reader) placeIn(v *language.Mapping, keys ...string) language.Place {
	for _, key := range keys[:len(keys)-1] {
		v = v.Sub(key)
	}
	return r.PlaceOf(v.NodeAt(keys[len(keys)-1]))
}

// planned reports a plan that goes beyond what is bounded.
func (r *reader) planned(d *Stand, v *language.Mapping) {
	p := &d.Plan
	least := d.Throttle.Motor.Lowest()
	for _, at := range p.FineAt {
		if most := p.FineSteps[len(p.FineSteps)-1]; at-most < least || at+most > 1 {
			node := v.NodeAt("fine_at")
			if node == nil {
				node = v.NodeAt("fine_steps")
			}
			r.Report(node, fmt.Sprintf("changes of %s about %s go beyond what the throttle line carries", language.Share.Format(most), language.Share.Format(at)), "try them further from the ends, or smaller ones")
			break
		}
	}
	var staircases signal.Time
	for i := range d.Held {
		if h := &d.Held[i]; h.Kind == Locked || h.Kind == AtSpeed && h.By == ByBrake {
			staircases += signal.Time(2*len(p.Levels)*p.Cycles) * (p.Dwell + p.Rest)
		}
	}
	if staircases > d.StopAt.Time {
		r.reportAt(d.Held[0].Place, fmt.Sprintf("the levels take %s, and stop_at: time is %s", span(staircases), span(d.StopAt.Time)), "plan fewer levels or a shorter dwell, or give a longer time under stop_at")
	}
}
