package file

import (
	"fmt"

	"hilrig/plant"
	"hilrig/stimulus/wire"
)

// encoders reads the four wheel sensors: what is said of all, and what differs.
func (r *reader) encoders(b *Bench, v *values) {
	wheels := v.sub("wheels")
	for _, w := range plant.Wheels {
		r.encoder(&b.Wiring.Encoders[w], v, wheels.sub(w.String()))
	}
}

// encoder reads one wheel's sensor; what own has goes before all.
func (r *reader) encoder(e *wire.WheelSensor, all, own *values) {
	of := func(key string) *values {
		if own.has(key) {
			return own
		}
		return all
	}
	number := func(key string) float64 { return of(key).number(key) }
	whole := func(key string) int { return int(of(key).whole(key)) }
	flag := func(key string) bool { return of(key).flag(key) }
	switch all.word("kind") {
	case "tacho":
		e.Kind, e.Tacho = wire.TachoWheel, wire.Tacho{Pulses: whole("pulses")}
	case "duty":
		e.Kind, e.Duty = wire.DutyWheel, wire.Duty{
			Period: of("period").time("period"), Least: number("least"), Most: number("most"),
			Steps: whole("steps"), Reverse: flag("reverse"), Noise: number("noise"),
		}
		r.duty(&e.Duty, all, own)
	default:
		e.Quadrature = wire.Quadrature{Lines: whole("lines"), Index: flag("index"), Reverse: flag("reverse")}
	}
}

// duty reports shares and steps that do not go together.
func (r *reader) duty(d *wire.Duty, all, own *values) {
	at := func(key string) *node {
		if x := own.get(key); x != nil {
			return x.node
		}
		if x := all.get(key); x != nil {
			return x.node
		}
		return nil
	}
	most, steps, least := at("most"), at("steps"), at("least")
	switch {
	case most == nil || least == nil:
	case d.Least >= d.Most:
		r.problem(most, fmt.Sprintf("most %s is not above least %s", most.text, least.text), "give a larger most; an angle that falls is reverse: yes")
	case steps != nil && d.Period > 0 && (d.Most-d.Least)*float64(d.Period) < float64(d.Steps):
		r.problem(steps, fmt.Sprintf("%d steps do not fit into the %.0f ns between least and most", d.Steps, (d.Most-d.Least)*float64(d.Period)), "give fewer steps, or a longer period")
	}
}
