package file

import (
	"fmt"

	"hilrig/plant"
	"hilrig/stimulus/wire"
	"hilrig/suites/language"
)

// encoders reads the four wheel sensors: what is said of all, and what differs.
func (r *reader) encoders(b *Bench, v *language.Mapping) {
	wheels := v.Sub("wheels")
	for _, w := range plant.Wheels {
		r.encoder(&b.Wiring.Encoders[w], v, wheels.Sub(w.String()))
	}
}

// ownOr returns the table of one wheel where it has the key, and else that of all wheels.
func ownOr(own, all *language.Mapping, key string) *language.Mapping {
	if own.Has(key) {
		return own
	}
	return all
}

// encoder reads one wheel's sensor; what own has goes before all.
func (r *reader) encoder(e *wire.WheelSensor, all, own *language.Mapping) {
	of := func(key string) *language.Mapping { return ownOr(own, all, key) }
	number := func(key string) float64 { return of(key).Number(key) }
	whole := func(key string) int { return int(of(key).Whole(key)) }
	flag := func(key string) bool { return of(key).Flag(key) }
	switch all.Word("kind") {
	case "tacho":
		e.Kind, e.Tacho = wire.TachoWheel, wire.Tacho{Pulses: whole("pulses")}
	case "duty":
		e.Kind, e.Duty = wire.DutyWheel, wire.Duty{
			Period: of("period").Time("period"), Least: number("least"), Most: number("most"),
			Steps: whole("steps"), Reverse: flag("reverse"), Noise: number("noise"),
		}
		r.duty(&e.Duty, all, own)
	default:
		e.Quadrature = wire.Quadrature{Lines: whole("lines"), Index: flag("index"), Reverse: flag("reverse")}
	}
}

// duty reports shares and steps that do not go together.
func (r *reader) duty(d *wire.Duty, all, own *language.Mapping) {
	at := func(key string) *language.Node {
		if x := own.Get(key); x != nil {
			return x.Node
		}
		if x := all.Get(key); x != nil {
			return x.Node
		}
		return nil
	}
	most, steps, least := at("most"), at("steps"), at("least")
	switch {
	case most == nil || least == nil:
	case d.Least >= d.Most:
		r.Report(most, fmt.Sprintf("most %s is not above least %s", most.Text, least.Text), "give a larger most; an angle that falls is reverse: yes")
	case steps != nil && d.Period > 0 && (d.Most-d.Least)*float64(d.Period) < float64(d.Steps):
		r.Report(steps, fmt.Sprintf("%d steps do not fit into the %.0f ns between least and most", d.Steps, (d.Most-d.Least)*float64(d.Period)), "give fewer steps, or a longer period")
	}
}
