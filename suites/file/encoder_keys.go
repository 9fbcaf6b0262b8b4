package file

import "hilrig/stimulus/wire"

// encoderForms declares each kind of wheel sensor.
var encoderForms = []Form{
	encoderForm(wire.QuadratureWheel, "quadrature encoders", "one wheel's quadrature encoder",
		Key{Name: "lines", Kind: Whole, Required: true, Least: "1", Most: "100000", Example: "256", Doc: "lines per turn of the wheel; four edges each"},
		Key{Name: "index", Kind: Flag, Doc: "an index pulse once a turn; left out: no"},
		Key{Name: "reverse", Kind: Flag, Doc: "B leads A when the wheel rolls forward; left out: no"}),
	encoderForm(wire.TachoWheel, "tacho sensors", "one wheel's tacho",
		Key{Name: "pulses", Kind: Whole, Required: true, Least: "1", Most: "100000", Example: "12", Doc: "pulses per turn of the wheel, on one line that does not tell the direction"}),
	encoderForm(wire.DutyWheel, "angle-by-duty sensors", "one wheel's angle-by-duty sensor",
		Key{Name: "period", Kind: Measure, Quantity: Duration, Required: true, Least: "10 us", Most: "1 s", Example: "1 ms", Doc: "from pulse to pulse"},
		Key{Name: "least", Kind: Measure, Quantity: Share, Required: true, Least: "0.001 %", Most: "99.9 %", Example: "5 %", Doc: "share of the period that the pulse takes at angle 0"},
		Key{Name: "most", Kind: Measure, Quantity: Share, Required: true, Least: "0.001 %", Most: "99.999 %", Example: "95 %", Doc: "share of the period that stands for a whole turn"},
		Key{Name: "steps", Kind: Whole, Required: true, Least: "2", Most: "65536", Example: "16384", Doc: "angles that are told apart in a turn"},
		Key{Name: "reverse", Kind: Flag, Doc: "the angle falls when the wheel rolls forward; left out: no"},
		Key{Name: "noise", Kind: Measure, Quantity: Angle, Least: "0 deg", Most: "50 deg", Example: "0.05 deg", Doc: "the sensor's noise, rms; never less than one step"}),
}

// encoderForm returns a kind of wheel sensor with its keys; any of them may be
// another at single wheels.
func encoderForm(kind wire.WheelKind, name, one string, keys ...Key) Form {
	word := kind.String()
	single := &Table{Name: one, Keys: optionalKeys(keys)}
	wheels := &Table{Name: "the wheels of the " + name, Keys: perWheel(Key{Kind: Group, Table: single, Doc: "what differs at this wheel"})}
	return Form{Has: []string{"kind"}, Word: word, Table: &Table{Name: name, Keys: append([]Key{
		{Name: "kind", Kind: Word, Required: true, Words: []string{word}, Doc: "the signal"},
		{Name: "wheels", Kind: Group, Table: wheels, Doc: "what differs at single wheels"},
	}, keys...)}}
}
