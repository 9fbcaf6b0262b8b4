package file

import (
	"fmt"
	"math"
	"slices"
	"strings"

	"hilrig/rig/signal"
	"hilrig/suites/language"
)

// measureTable declares what can measure the motor.
var measureTable = language.NewTable("what measures the motor", "", []language.Key{
	{Name: FromSpinUp.String(), Kind: language.Group, Table: spinUpTable, Doc: "an encoder on the shaft: torque is inertia times angular acceleration plus drag"},
	{Name: FromLoadCell.String(), Kind: language.Group, Table: loadCellTable, Doc: "a lever arm on a load cell with a 24-bit converter on two wires"},
	{Name: FromTelemetry.String(), Kind: language.Group, Table: telemetryTable, Doc: "what the controller says of itself, in frames of ten bytes"},
	{Name: FromBus.String(), Kind: language.Group, Many: language.OneOrList, Table: busSensorTable, Doc: "a converter of a current or a voltage on I2C"},
	{Name: FromCSV.String(), Kind: language.Group, Table: dynamometerTable, Doc: "the CSV file of a dynamometer; nothing is played then"},
})

// toleranced declares a number of quantity q with how far it may be off.
func toleranced(name, of string, q language.Quantity, example, tolerance, doc string, required bool) language.Key {
	return language.Key{Name: name, Kind: language.Group, Required: required, Doc: doc, Table: language.NewTable(of+" with its tolerance", "", []language.Key{
		{Name: "value", Kind: language.Measure, Quantity: q, Required: true, Example: example, Doc: "as far as it is known"},
		{Name: "tolerance", Kind: language.Measure, Quantity: q, Also: []language.Quantity{language.Share}, Required: true, Example: tolerance, Doc: "how far it may be off, either way; a share is one of the value"},
	})}
}

// toleranced reads a number with its tolerance; nil where it is left out or wrong.
func (r *reader) toleranced(v *language.Mapping, name string) *Toleranced {
	one := v.Sub(name)
	value, tolerance := one.Get("value"), one.Get("tolerance")
	if value == nil || tolerance == nil {
		return nil
	}
	t := Toleranced{value.Number, tolerance.Number}
	if tolerance.Quantity == language.Share {
		t.Tolerance = float64(tolerance.Number * value.Number)
	}
	switch {
	case t.Value <= 0:
		r.Report(value.Node, fmt.Sprintf("%s is %s, which is not above 0", name, value.Node.Text), fmt.Sprintf("measure it, or leave %s out where it may be", name))
		return nil
	case t.Tolerance < 0 || t.Tolerance >= t.Value:
		r.Report(tolerance.Node, fmt.Sprintf("the tolerance of %s is %s, which is not from 0 to less than the value", name, tolerance.Node.Text), "give how far it may be off, like 2 %")
		return nil
	}
	return &t
}

var spinUpTable = language.NewTable("the spin-up", "Each level runs the shaft up through the held speeds.", []language.Key{
	{Name: "encoder", Kind: language.Group, Required: true, Forms: shaftForms, Doc: "the encoder on the shaft"},
	toleranced("inertia", "the inertia", language.Inertia, "1200 g cm2", "2 %", "of all that turns; left out: not known, and torque is known as a share of full torque alone", false),
	{Name: "coast", Kind: language.Word, Words: coastWords[:], Doc: "what the controller does with the motor at idle: it lets it freewheel, it brakes, or a person unplugs it; left out: freewheels"},
})

// shaftForms declares the kinds of encoder on a shaft.
var shaftForms = []language.Form{
	{Has: []string{"kind"}, Word: "quadrature", Table: language.NewTable("a shaft's quadrature encoder", "", []language.Key{
		{Name: "kind", Kind: language.Word, Required: true, Words: []string{"quadrature"}, Doc: "the signal"},
		{Name: "lines", Kind: language.Whole, Required: true, Least: "1", Most: "100000", Example: "256", Doc: "lines a turn of the shaft; four edges each"},
		{Name: "reverse", Kind: language.Flag, Doc: "B leads A when the shaft turns ahead; left out: no"},
		lineErrorKey,
	})},
	{Has: []string{"kind"}, Word: "tacho", Table: language.NewTable("a shaft's tacho", "", []language.Key{
		{Name: "kind", Kind: language.Word, Required: true, Words: []string{"tacho"}, Doc: "the signal"},
		{Name: "pulses", Kind: language.Whole, Required: true, Least: "1", Most: "100000", Example: "12", Doc: "pulses a turn of the shaft, on one line that does not tell the direction"},
		lineErrorKey,
	})},
}

var lineErrorKey = language.Key{Name: "line_error", Kind: language.Measure, Quantity: language.Angle, Least: "0 deg", Most: "30 deg", Example: "0.1 deg", Doc: "how far an edge may lie from its place on the turn, either way; left out: 0 deg"}

var loadCellTable = language.NewTable("the load cell", "Calibrated by its zero and two known masses on the arm.", []language.Key{
	{Name: "clocks", Kind: language.Whole, Least: "25", Most: "27", Example: "25", Doc: "clocks of a reading, which choose gain and input of the next; left out: 25"},
	{Name: "rate", Kind: language.Measure, Quantity: language.Frequency, Required: true, Least: "1 Hz", Most: "1 kHz", Example: "80 Hz", Doc: "conversions a second"},
	{Name: "zero", Kind: language.Whole, Required: true, Least: "-8388607", Most: "8388606", Example: "8120", Doc: "counts without load"},
	{Name: "span", Kind: language.Group, Many: language.Two, Required: true, Table: cellLoadTable, Doc: "counts under two known masses"},
	toleranced("arm", "the lever arm", language.Length, "80 mm", "0.5 mm", "from the shaft's axis to where the force acts", true),
	{Name: "reverse", Kind: language.Flag, Doc: "counts fall as the motor pushes ahead; left out: no"},
})

var cellLoadTable = language.NewTable("a known load", "", []language.Key{
	{Name: "counts", Kind: language.Whole, Required: true, Least: "-8388607", Most: "8388606", Example: "428120", Doc: "what the converter says"},
	{Name: "mass", Kind: language.Measure, Quantity: language.Mass, Required: true, Least: "0 g", Most: "100 kg", Example: "500 g", Doc: "the mass that hangs on it"},
	{Name: "tolerance", Kind: language.Measure, Quantity: language.Mass, Also: []language.Quantity{language.Share}, Example: "0.5 g", Doc: "how far the mass may be off, either way; left out: 0 g"},
})

// currentKeys are those of a current that stands for torque.
var currentKeys = []language.Key{
	{Name: "current", Kind: language.Word, Words: currentWords[1:], Doc: "whose current is measured: that of the supply, or that in the motor's phases; left out: none, or in a bus_sensor of a current that of the supply"},
	toleranced("torque_constant", "the torque constant", language.TorqueConstant, "12 mN m/A", "5 %", "torque by phase current; left out: not known", false),
	toleranced("winding_resistance", "the winding's resistance", language.Resistance, "50 mohm", "10 %", "of which the loss is taken off the supply's power; left out: not known", false),
}

// telemetryTable declares the telemetry.
var telemetryTable = language.NewTable("the telemetry", "Frames of ten bytes: temperature, voltage, current, charge, electrical speed, and a checksum.", []language.Key{
	{Name: "baud", Kind: language.Measure, Quantity: language.Symbols, Least: "9600 Bd", Most: "1000000 Bd", Example: "115200 Bd", Doc: "symbols a second; left out: 115200 Bd"},
	{Name: "speed", Kind: language.Word, Words: []string{"electrical", "mechanical"}, Doc: "whose speed the frames carry: that of the field, or that of the shaft; left out: electrical"},
	{Name: "pole_pairs", Kind: language.Whole, Least: "1", Most: "50", Example: "2", Doc: "of the motor: electrical speed by this is that of the shaft; left out: only where the speed is mechanical"},
}, currentKeys)

var busSensorTable = language.NewTable("a bus sensor", "One register of a converter on I2C: its value is count times scale plus offset.", []language.Key{
	{Name: "quantity", Kind: language.Word, Required: true, Words: busQuantityWords[:], Doc: "what it measures"},
	{Name: "device", Kind: language.Text, Required: true, Example: "/dev/i2c-1", Doc: "the bus"},
	{Name: "address", Kind: language.Whole, Required: true, Least: "0x08", Most: "0x77", Example: "0x40", Doc: "of seven bits"},
	{Name: "register", Kind: language.Whole, Required: true, Least: "0", Most: "255", Example: "0x01", Doc: "the register that is read"},
	{Name: "width", Kind: language.Whole, Least: "1", Most: "4", Example: "2", Doc: "its bytes; left out: 2"},
	{Name: "order", Kind: language.Word, Words: []string{"big", "little"}, Doc: "which byte comes first; left out: big"},
	{Name: "signed", Kind: language.Flag, Doc: "the count is in two's complement; left out: no"},
	{Name: "shift", Kind: language.Whole, Least: "0", Most: "31", Example: "3", Doc: "bits on the right that belong to no value; left out: 0"},
	{Name: "scale", Kind: language.Measure, Quantity: language.Current, Also: []language.Quantity{language.Voltage}, Required: true, Example: "1 mA", Doc: "for each count"},
	{Name: "offset", Kind: language.Measure, Quantity: language.Current, Also: []language.Quantity{language.Voltage}, Example: "0 mA", Doc: "at count 0; left out: 0"},
	{Name: "rate", Kind: language.Measure, Quantity: language.Frequency, Least: "1 Hz", Most: "1 kHz", Example: "100 Hz", Doc: "readings a second; left out: 100 Hz"},
}, currentKeys)

// measure reads what measures the motor.
func (r *reader) measure(d *Stand, v *language.Mapping) {
	if v == nil {
		return
	}
	for _, e := range v.Node.Entries {
		if i := slices.Index(standSourceWords[:], e.Name); i > 0 && v.Has(e.Name) {
			d.Sources = append(d.Sources, StandSource(i))
		}
	}
	if len(v.Node.Entries) == 0 {
		r.Report(v.Node, "measure has nothing that measures the motor", "give one of "+language.Or(measureTable.Names()))
	}
	if x := v.Sub("spin_up"); x != nil {
		d.SpinUp = r.spinUp(x)
	}
	if x := v.Sub("load_cell"); x != nil {
		d.LoadCell = r.loadCell(x)
	}
	if x := v.Sub("telemetry"); x != nil {
		d.Telemetry = r.telemetry(x)
	}
	for _, x := range v.List("bus_sensor") {
		r.busSensor(d, x.Mapping)
	}
	if x := v.Get("file"); x != nil && len(v.Node.Entries) > 1 {
		r.Report(x.Key, "a file is judged as it is, and nothing can be measured beside it", "give it a stand file of its own, or leave it out")
	}
}

// spinUp reads the spin-up.
func (r *reader) spinUp(v *language.Mapping) *SpinUp {
	e := v.Sub("encoder")
	s := &SpinUp{Inertia: r.toleranced(v, "inertia"), Coast: Coast(max(slices.Index(coastWords[:], v.Word("coast")), 0))}
	if e == nil {
		return s
	}
	s.Encoder.LineError = e.Number("line_error")
	edges := 0.0
	if e.Word("kind") == "tacho" {
		s.Encoder.Pulses = int(e.Whole("pulses"))
		edges = float64(s.Encoder.Pulses)
	} else {
		s.Encoder.Lines, s.Encoder.Reverse = int(e.Whole("lines")), e.Flag("reverse")
		edges = 4 * float64(s.Encoder.Lines)
	}
	if x := e.Get("line_error"); x != nil && edges > 0 && x.Number >= math.Pi/edges {
		r.Report(x.Node, fmt.Sprintf("line_error %s is half the distance of two edges or more, %s: their order would not be known", x.Node.Text, language.Angle.Format(2*math.Pi/edges)), "give a smaller one, or declare fewer lines or pulses")
	}
	return s
}

// cellDropAfter is what powers the converter of a load cell down where its clock is high for
// longer: 60 us in its data sheets (from memory), with a guard band.
const cellDropAfter = 50 * signal.Microsecond

// loadCell reads the load cell.
func (r *reader) loadCell(v *language.Mapping) *LoadCell {
	c := &LoadCell{Clocks: int(v.WholeOr("clocks", 25)), Rate: v.Number("rate"), Zero: float64(v.Whole("zero")), Reverse: v.Flag("reverse"), DropAfter: cellDropAfter}
	if arm := r.toleranced(v, "arm"); arm != nil {
		c.Arm = *arm
	}
	span := v.Get("span")
	if span == nil {
		return c
	}
	for i, x := range span.List {
		load := &c.Span[i]
		load.Counts, load.Mass = float64(x.Mapping.Whole("counts")), x.Mapping.Number("mass")
		load.Tolerance = x.Mapping.Number("tolerance")
		if t := x.Mapping.Get("tolerance"); t != nil {
			if t.Quantity == language.Share {
				load.Tolerance = float64(t.Number * load.Mass)
			}
			if load.Tolerance < 0 {
				r.Report(t.Node, fmt.Sprintf("the tolerance of a mass is %s, which is below 0", t.Node.Text), "give how far the mass may be off, like 0.5 g")
			}
		}
	}
	a, b := c.Span[0], c.Span[1]
	switch low, high := min(a.Mass, b.Mass), max(a.Mass, b.Mass); {
	case low == high:
		r.Report(span.Key, fmt.Sprintf("the span is zero: both masses are %s", language.Mass.Format(low)), "calibrate with two different masses")
	case a.Counts == b.Counts:
		r.Report(span.Key, fmt.Sprintf("the span is zero: the converter says %.0f counts under both masses", a.Counts), "look at the wires of the cell, and calibrate again")
	case high-low <= a.Tolerance+b.Tolerance:
		r.Report(span.Key, "the masses differ by no more than they may be off", "calibrate with masses that differ more")
	}
	return c
}

// current reads whose current is measured and what makes torque of it.
func (r *reader) current(v *language.Mapping) (m MotorCurrent) {
	m.Current = CurrentOf(max(slices.Index(currentWords[:], v.Word("current")), 0))
	m.TorqueConstant, m.WindingResistance = r.toleranced(v, "torque_constant"), r.toleranced(v, "winding_resistance")
	return m
}

// telemetry reads the controller's telemetry.
func (r *reader) telemetry(v *language.Mapping) *Telemetry {
	t := &Telemetry{Baud: int(v.NumberOr("baud", 115200)), PolePairs: int(v.WholeOr("pole_pairs", 1)), MotorCurrent: r.current(v)}
	pairs := v.Get("pole_pairs")
	switch mechanical := v.Word("speed") == "mechanical"; {
	case mechanical && pairs != nil:
		r.Report(pairs.Node, "pole_pairs is declared, and the frames carry the shaft's own speed", "leave pole_pairs out, or write speed: electrical")
	case !mechanical && !v.Written("pole_pairs"):
		r.Report(v.Node.Head(), "the telemetry's speed is electrical, and without pole_pairs the shaft's is not known", "add pole_pairs: 2, half the motor's magnets; or write speed: mechanical")
	}
	return t
}

// busSensor reads one register of a converter on I2C.
func (r *reader) busSensor(d *Stand, v *language.Mapping) {
	b := BusSensor{
		Device: v.Word("device"), Address: int(v.Whole("address")), Register: int(v.Whole("register")), Width: int(v.WholeOr("width", 2)),
		LittleEndian: v.Word("order") == "little", Signed: v.Flag("signed"), Shift: int(v.Whole("shift")),
		Scale: v.Number("scale"), Offset: v.Number("offset"), Rate: v.NumberOr("rate", 100), MotorCurrent: r.current(v),
	}
	want := language.Current
	if v.Word("quantity") == "voltage" {
		b.Quantity, want = BusVoltage, language.Voltage
	}
	for _, name := range []string{"scale", "offset"} {
		if x := v.Get(name); x != nil && v.Has("quantity") && x.Quantity != want {
			r.Report(x.Node, fmt.Sprintf("%s %s is no %s, which the sensor measures", name, x.Node.Text, b.Quantity), fmt.Sprintf("write it like %s", want.Example()))
		}
	}
	if x := v.Get("scale"); x != nil && x.Number == 0 {
		r.Report(x.Node, "scale is 0: every count would be the same", "give what one count stands for")
	}
	if x := v.Get("device"); x != nil && !strings.HasPrefix(x.Word, "/dev/i2c-") {
		r.Report(x.Node, fmt.Sprintf("device %q is no I2C bus", language.Brief(x.Word)), "write it like /dev/i2c-1")
	}
	if x := v.Get("shift"); x != nil && b.Shift >= 8*b.Width {
		r.Report(x.Node, fmt.Sprintf("shift %d leaves nothing of %d bits", b.Shift, 8*b.Width), "give a smaller shift")
	}
	switch {
	case b.Quantity == BusVoltage:
		for _, name := range []string{"current", "torque_constant", "winding_resistance"} {
			if x := v.Get(name); x != nil {
				r.Report(x.Key, name+" has no meaning at a sensor of a voltage", "leave it out")
			}
		}
	case b.Current == NoCurrent:
		b.Current = SupplyCurrent
	}
	for i := range d.Bus {
		if o := &d.Bus[i]; o.Quantity == b.Quantity {
			r.Report(v.Node.Head(), fmt.Sprintf("there is a bus_sensor of a %s already", b.Quantity), "leave one out")
		}
	}
	d.Bus = append(d.Bus, b)
}

// onBus says whether a converter on I2C measures the quantity.
func (s *Stand) onBus(q BusQuantity) bool { return s.busSensor(q) != nil }

// busSensor returns the converter that measures the quantity, nil where none does.
func (s *Stand) busSensor(q BusQuantity) *BusSensor {
	i := slices.IndexFunc(s.Bus, func(b BusSensor) bool { return b.Quantity == q })
	if i < 0 {
		return nil
	}
	return &s.Bus[i]
}
