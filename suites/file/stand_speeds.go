package file

import (
	"fmt"
	"math"

	"hilrig/rig/signal"
	"hilrig/suites/language"
)

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
