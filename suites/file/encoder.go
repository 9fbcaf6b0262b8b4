package file

import (
	"fmt"

	"hilrig/plant"
	"hilrig/stimulus/wire"
	"hilrig/suites/language"
)

// encoderForms declares each kind of wheel sensor.
var encoderForms = []language.Form{
	encoderForm(wire.QuadratureWheel, "quadrature encoders", "one wheel's quadrature encoder", []language.Key{
		{Name: "lines", Kind: language.Whole, Required: true, Least: "1", Most: "100000", Example: "256", Doc: "lines per turn of the wheel; four edges each"},
		{Name: "index", Kind: language.Flag, Doc: "an index pulse once a turn; left out: no"},
		{Name: "reverse", Kind: language.Flag, Doc: "B leads A when the wheel rolls forward; left out: no"},
	}),
	encoderForm(wire.TachoWheel, "tacho sensors", "one wheel's tacho", []language.Key{
		{Name: "pulses", Kind: language.Whole, Required: true, Least: "1", Most: "100000", Example: "12", Doc: "pulses per turn of the wheel, on one line that does not tell the direction"},
	}),
	encoderForm(wire.DutyWheel, "angle-by-duty sensors", "one wheel's angle-by-duty sensor", []language.Key{
		{Name: "period", Kind: language.Measure, Quantity: language.Duration, Required: true, Least: "10 us", Most: "1 s", Example: "1 ms", Doc: "from pulse to pulse"},
		{Name: "least", Kind: language.Measure, Quantity: language.Share, Required: true, Least: "0.001 %", Most: "99.9 %", Example: "5 %", Doc: "share of the period that the pulse takes at angle 0"},
		{Name: "most", Kind: language.Measure, Quantity: language.Share, Required: true, Least: "0.001 %", Most: "99.999 %", Example: "95 %", Doc: "share of the period that stands for a whole turn"},
		{Name: "steps", Kind: language.Whole, Required: true, Least: "2", Most: "65536", Example: "16384", Doc: "angles that are told apart in a turn"},
		{Name: "reverse", Kind: language.Flag, Doc: "the angle falls when the wheel rolls forward; left out: no"},
		{Name: "noise", Kind: language.Measure, Quantity: language.Angle, Least: "0 deg", Most: "50 deg", Example: "0.05 deg", Doc: "the sensor's noise, rms; never less than one step"},
	}),
}

// encoderForm returns a kind of wheel sensor with its keys; any of them may be
// another at single wheels.
func encoderForm(kind wire.WheelKind, name, one string, keys []language.Key) language.Form {
	word := kind.String()
	single := language.NewTable(one, "", changed(keys, func(k *language.Key) { k.Required = false }))
	return language.Form{Has: []string{"kind"}, Word: word, Table: language.NewTable(name, "", []language.Key{
		{Name: "kind", Kind: language.Word, Required: true, Words: []string{word}, Doc: "the signal"},
		wheelsOf("the wheels of the "+name, single),
	}, keys)}
}

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
	at := func(key string) *language.Node { return ownOr(own, all, key).NodeAt(key) }
	most, steps, least := at("most"), at("steps"), at("least")
	switch {
	case most == nil || least == nil:
	case d.Least >= d.Most:
		r.Report(most, fmt.Sprintf("most %s is not above least %s", most.Text, least.Text), "give a larger most; an angle that falls is reverse: yes")
	case steps != nil && d.Period > 0 && (d.Most-d.Least)*float64(d.Period) < float64(d.Steps):
		r.Report(steps, fmt.Sprintf("%d steps do not fit into the %.0f ns between least and most", d.Steps, (d.Most-d.Least)*float64(d.Period)), "give fewer steps, or a longer period")
	}
}
