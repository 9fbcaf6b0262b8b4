package file

import (
	"fmt"
	"math"
	"slices"
	"strings"

	"hilrig/rig/interlock"
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

// Fastest returns the highest speed that the stand asks for, rad/s: the highest of the held ones,
// and in a run-up the margin beyond it.
func (s *Stand) Fastest() float64 {
	fastest := 0.0
	for i := range s.Held {
		switch h := &s.Held[i]; {
		case h.Kind == AtSpeed && h.By == ByRunUp:
			fastest = max(fastest, h.Speed+float64(h.Speed*s.Plan.Margin))
		case h.Kind != Locked:
			fastest = max(fastest, h.Speed)
		}
	}
	return fastest
}

// silence is for how long nothing may be heard of what a bound is measured by; relayOpens is
// what a relay takes to open (common practice, no source).
const (
	silence    = 100 * signal.Millisecond
	relayOpens = 20 * signal.Millisecond
)

// Overshoot returns by how much the speed may go beyond stop_at before the motor is without
// power, rad/s, and the reckoning in words: at full acceleration for as long as a dead sensor
// goes unnoticed, two ticks, a command of the throttle line and the opening of the relay take.
// It is 0 where no disc is declared.
func (s *Stand) Overshoot() (by float64, reckoning string) {
	if s.Disc == nil || s.Throttle.Rate <= 0 {
		return 0, ""
	}
	command := signal.FromSeconds(1 / s.Throttle.Rate)
	all := silence + 2*s.Tick + command + relayOpens
	by = float64(s.Disc.Acceleration * all.Seconds())
	return by, fmt.Sprintf("%s for %s: %s of silence, two ticks of %s, a command every %s, %s of a relay that opens",
		language.AngularAcceleration.Format(s.Disc.Acceleration), span(all), span(silence), span(s.Tick), span(command), span(relayOpens))
}

// speeds reports speeds beyond what stop_at and the disc's rating allow.
func (r *reader) speeds(d *Stand, v *language.Mapping) {
	stop := v.Sub("stop_at").Get("speed")
	fastest := d.Fastest()
	for i := range d.Held {
		h := &d.Held[i]
		one := Stand{Held: d.Held[i : i+1], Plan: d.Plan}
		goes := one.Fastest()
		what := h.String()
		if goes > h.Speed {
			what += fmt.Sprintf(" and its margin, %s,", radians(goes))
		}
		if stop != nil && goes > 0 && goes >= stop.Number {
			r.reportAt(h.Place, fmt.Sprintf("%s cannot be reached: stop_at: speed ends the run at %s", what, stop.Node.Text), "hold a lower speed, or give stop_at a higher one")
		}
		if d.Disc != nil && goes > d.Disc.Rated {
			r.reportAt(h.Place, fmt.Sprintf("%s is above what the disc is rated for, %s", what, radians(d.Disc.Rated)), "hold a lower speed; a disc beyond its rating can burst")
		}
	}
	if d.Disc == nil || fastest == 0 {
		return
	}
	by, reckoning := d.Overshoot()
	rated := v.Sub("disc").NodeAt("rated")
	most := d.Disc.Rated - by
	remedy := fmt.Sprintf("write stop_at: {speed: %s} or less", radians(math.Floor(most)))
	if most <= fastest {
		remedy = "hold lower speeds, or put a disc on the shaft that is rated higher or turns up more slowly"
	}
	switch {
	case stop == nil:
		r.Report(rated, "a disc is on the shaft, and stop_at bounds no speed", remedy)
	case stop.Number > most:
		r.Report(stop.Node, fmt.Sprintf("stop_at: speed %s leaves %s to the disc's rating of %s, and the speed may overshoot by %s (%s)",
			stop.Node.Text, radians(max(d.Disc.Rated-stop.Number, 0)), radians(d.Disc.Rated), radians(by), reckoning), remedy)
	}
}

// defaultMotorLimit is what a command may be where motors are powered and the file does not say.
const defaultMotorLimit = 0.25

// onPins reports what a stand on a Raspberry Pi lacks.
func (r *reader) onPins(d *Stand, v *language.Mapping) {
	if !d.Plays() {
		r.Report(v.NodeAt("kind"), "a file is judged without pins", "leave out kind: raspberry")
		return
	}
	r.unwired(v, &d.Header, d.Layout(), nil, d.Power)
	r.besideBus(d, v)
	if d.Power == interlock.SignalsOnly {
		return
	}
	kind := v.NodeAt("kind")
	if d.Turns() && d.Disc == nil {
		r.Report(kind, "the motor is powered, and the file does not say what the wheel or disc on its shaft is rated for", "add disc: "+discTable.Sample())
	}
	limit := d.Interlock.MotorLimit
	if limit == 0 {
		limit = defaultMotorLimit
	}
	highest := 0.0
	for _, level := range slices.Concat(d.Plan.Levels, d.Plan.FineAt, []float64{d.Plan.Step.From, d.Plan.Step.To}) {
		highest = max(highest, math.Abs(level))
	}
	if highest > limit {
		at := v.Sub("interlock").NodeAt("motor_limit")
		if at == nil {
			at = kind
		}
		r.Report(at, fmt.Sprintf("the plan goes up to %s, and motor_limit is %s", language.Share.Format(highest), language.Share.Format(limit)),
			fmt.Sprintf("write motor_limit: %s under interlock once the stand can bear it, or plan lower levels", language.Share.Format(highest)))
	}
}

// headerBus is the I2C bus on the header, which has GPIO2 and GPIO3 (raspberrypi/documentation,
// gpio-on-raspberry-pi.adoc).
const (
	headerBus  = "/dev/i2c-1"
	lastBusPin = 3
)

// besideBus reports lines on the pins of the bus that a sensor is on. The interlock's cannot be there.
func (r *reader) besideBus(d *Stand, v *language.Mapping) {
	if !slices.ContainsFunc(d.Bus, func(b BusSensor) bool { return b.Device == headerBus }) {
		return
	}
	for _, l := range d.Layout().Lines {
		if x := v.Sub("pins").Get(l.Name); x != nil && x.Whole <= lastBusPin {
			r.Report(x.Node, fmt.Sprintf("%s is on GPIO%d, which belongs to the bus %s", l.Name, x.Whole, headerBus), "give it another pin")
		}
	}
}

// LintStand returns what is odd about a stand that can be played: limits of which nothing can
// be said, and what is measured for nothing.
func LintStand(s *Stand) language.Warnings {
	w := &standLinter{stand: s}
	if len(s.Plan.Levels) < fewestLevels && s.Plays() && s.Limits.Linearity != nil {
		w.at(s.Held[0].Place, fmt.Sprintf("linearity is judged from %d levels on, and the plan has %d", fewestLevels, len(s.Plan.Levels)), "plan more levels, or leave the limit out")
	}
	w.drag()
	w.supply()
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
	if l := s.Limits.Linearity; l != nil && l.Sense.String() == "zero_based" {
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
	if s.Plays() && s.Supply.MeasuredBy == FromNothing && s.Supply.Sag == nil {
		w.at(s.Held[0].Place, "nothing is known of how the supply sags, so that figures at constant voltage are left out", "add supply: {measured_by: telemetry}, or its voltage and sag")
	}
}
