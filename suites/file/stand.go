package file

import (
	"fmt"
	"slices"

	"hilrig/rig/interlock"
	"hilrig/rig/signal"
	"hilrig/suites/language"
)

// StandTable declares the stand file.
var StandTable = language.NewTable("a stand file", "A speed controller under test: its throttle line, what is measured of the motor, what is held meanwhile, and what its owner accepts. Without limits it is measured and nothing is judged.", []language.Key{
	{Name: "stand", Kind: language.Text, Required: true, Example: "my stand", Doc: "name of the stand"},
	{Name: "about", Kind: language.Text, Example: "What it is for.", Doc: "what it is, in a sentence"},
	{Name: "kind", Kind: language.Word, Words: benchKinds, Doc: "what plays it; left out: simulated"},
	{Name: "tick", Kind: language.Measure, Quantity: language.Duration, Least: "100 us", Most: "10 ms", Example: "1 ms", Doc: "step of the rig's loop; left out: 1 ms"},
	{Name: "throttle", Kind: language.Group, Forms: throttleForms(), Doc: "the commands that the controller is sent; left out: only where a file is measured"},
	{Name: "measure", Kind: language.Group, Required: true, Table: measureTable, Doc: "what measures the motor; where two give the torque, the first in the file does"},
	{Name: "supply", Kind: language.Group, Table: supplyTable, Doc: "what feeds the controller; left out: not known, and nothing is said of constant voltage"},
	{Name: "held", Kind: language.Group, Many: language.List, Required: true, Forms: heldConditionForms, Doc: "what is held while levels are read; each is judged by itself"},
	{Name: "plan", Kind: language.Group, Table: planTable, Doc: "what is played; left out: 21 levels from 0 % to 100 %, up and down three times"},
	{Name: "stop_at", Kind: language.Group, Table: stopTable, Doc: "what ends the run at idle at once; left out: 30 min"},
	{Name: "limits", Kind: language.Group, Table: limitsTable, Doc: "what the owner accepts; left out: all is measured and nothing judged"},
	{Name: "disc", Kind: language.Group, Table: discTable, Doc: "the wheel or disc that turns on the shaft; left out: not declared"},
	{Name: "pins", Kind: language.Group, Table: standPinTable, Doc: "the header's pin of each wire, on a Raspberry Pi"},
	{Name: "interlock", Kind: language.Group, Table: interlockTable, Doc: "the pins between the rig and a powered motor"},
	{Name: "motors_powered", Kind: language.Word, Words: powerWords, Doc: "how the motor is powered; left out: signals_only"},
})

// throttleForms are the formats of a bench's motor commands, which here the rig sends.
func throttleForms() []language.Form {
	arm := []language.Key{{Name: "arm", Kind: language.Group, Many: language.List, Table: throttleHoldTable, Doc: "what the controller wants to see, one after the other, before it turns the motor; left out: 0 % for 2 s"}}
	forms := commandForms("the throttle line", arm, arm)
	for _, f := range forms {
		rate := f.Table.Key("rate")
		rate.Required, rate.Doc = true, "commands a second"
		f.Table.Key("lost_after").Doc = "the controller idles where no command came for this long; left out: 100 ms"
	}
	return forms
}

var throttleHoldTable = language.NewTable("a command of the arming sequence", "", []language.Key{
	{Name: "level", Kind: language.Measure, Quantity: language.Share, Least: "-100 %", Most: "100 %", Example: "0 %", Doc: "what the throttle line commands; left out: 0 %"},
	{Name: "for", Kind: language.Measure, Quantity: language.Duration, Required: true, Least: "1 ms", Most: "1 min", Example: "2 s", Doc: "how long"},
})

var supplyTable = language.NewTable("the supply", "", []language.Key{
	{Name: "voltage", Kind: language.Measure, Quantity: language.Voltage, Least: "0.5 V", Most: "100 V", Example: "7.4 V", Doc: "without load; left out: not known"},
	{Name: "sag", Kind: language.Measure, Quantity: language.Resistance, Least: "0 mohm", Most: "10 ohm", Example: "20 mohm", Doc: "by how much it falls for each ampere, where a current is measured and the voltage is not; left out: not known"},
	{Name: "sag_at_full", Kind: language.Measure, Quantity: language.Voltage, Least: "0 V", Most: "50 V", Example: "0.3 V", Doc: "by how much it falls at full throttle in the held condition, where neither voltage nor current is measured: read it with a multimeter that keeps the lowest value; left out: not known"},
	{Name: "measured_by", Kind: language.Word, Words: []string{FromTelemetry.String(), FromBus.String()}, Doc: "what measures the voltage; left out: nothing does"},
	{Name: "current_limit", Kind: language.Measure, Quantity: language.Current, Least: "0.1 A", Most: "500 A", Example: "20 A", Doc: "at which a bench supply holds its current: a run that gets there says so; left out: none is known"},
})

var discTable = language.NewTable("the disc", "A wheel or a disc at speed can burst: it is never asked to turn faster than it is rated for.", []language.Key{
	{Name: "rated", Kind: language.Measure, Quantity: language.AngularRate, Required: true, Least: "1 rad/s", Most: "20000 rad/s", Example: "6000 rpm", Doc: "the speed that it may turn at"},
	{Name: "acceleration", Kind: language.Measure, Quantity: language.AngularAcceleration, Required: true, Least: "1 rad/s2", Most: "1000000 rad/s2", Example: "1500 rad/s2", Doc: "at full throttle, at most; by it is reckoned how far the speed may overshoot"},
})

// ParseStand reads a stand file; read opens the file of a dynamometer by the path that the
// stand names. The error is of type [language.Problems]. Numbers are SI.
func ParseStand(s language.Source, read func(path string) ([]byte, error)) (*Stand, error) {
	r, v := open(s, StandTable)
	if v == nil {
		return nil, r.Problems.Sorted()
	}
	d := &Stand{Source: s, Name: v.Word("stand"), About: v.Word("about"), Kind: v.WordOr("kind", benchKinds[0])}
	d.Tick = v.TimeOr("tick", signal.Millisecond)
	d.Power = interlock.Power(max(slices.Index(powerWords, v.Word("motors_powered")), 0))
	r.throttle(d, v)
	r.measure(d, v.Sub("measure"))
	r.supply(d, v.Sub("supply"))
	r.held(d, v.List("held"))
	r.fallsOnce(d, v)
	r.plan(d, v.Sub("plan"))
	r.stopAt(d, v.Sub("stop_at"))
	d.Limits = limitsOf(v.Sub("limits"))
	if disc := v.Sub("disc"); disc != nil {
		d.Disc = &Disc{Rated: disc.Number("rated"), Acceleration: disc.Number("acceleration")}
	}
	d.Header = r.header(d.Layout(), v.Sub("pins"), v.Sub("interlock"), nil)
	if len(r.Problems) == 0 {
		r.standsUp(d, v)
	}
	if x := v.Sub("measure").Sub("file"); x != nil && len(r.Problems) == 0 {
		r.dynamometer(d, x, read)
	}
	if len(r.Problems)+len(r.others) > 0 {
		r.Problems.Sort()
		return nil, append(r.Problems, r.others...)
	}
	return d, nil
}

// throttle reads the throttle line.
func (r *reader) throttle(d *Stand, v *language.Mapping) {
	line := v.Sub("throttle")
	if line == nil {
		if !v.Written("throttle") && v.Sub("measure").Get("file") == nil {
			r.Report(v.Node, "key throttle is missing in a stand file", "add throttle: "+StandTable.Key("throttle").Sample())
		}
		return
	}
	t := &d.Throttle
	t.Motor = r.command("throttle", line, nil)
	t.Rate = r.commandRate("throttle", line, t.Motor)
	if !line.Has("arm") {
		t.Arm = []ThrottleHold{{For: 2 * signal.Second}}
		return
	}
	for _, x := range line.List("arm") {
		hold := ThrottleHold{Level: x.Mapping.Number("level"), For: x.Mapping.Time("for")}
		r.oneWay(d, x.Mapping.Get("level"), "arm")
		t.Arm = append(t.Arm, hold)
	}
}

// oneWay reports a command below 0 to a controller that turns one way.
func (r *reader) oneWay(d *Stand, x *language.Value, name string) {
	if x != nil && x.Number < d.Throttle.Motor.Lowest() {
		r.Report(x.Node, fmt.Sprintf("%s: %s is below 0 %% and the throttle line carries one sense alone", name, x.Node.Text), "leave it out, or write with_neutral: yes or two_direction: yes under throttle")
	}
}

// supply reads what feeds the controller.
func (r *reader) supply(d *Stand, v *language.Mapping) {
	d.Supply = Supply{Voltage: v.Optional("voltage"), Sag: v.Optional("sag"), SagAtFull: v.Optional("sag_at_full"), CurrentLimit: v.Optional("current_limit")}
	d.Supply.MeasuredBy = StandSource(max(slices.Index(standSourceWords[:], v.Word("measured_by")), 0))
	r.sagAtFull(d, v)
	sag, by := v.Get("sag"), v.Get("measured_by")
	switch {
	case sag != nil && by != nil:
		r.Report(sag.Node, "sag is declared and the voltage is measured too", "leave one of them out")
	case sag != nil && d.Supply.Voltage == nil:
		r.Report(sag.Node, "sag says nothing without the voltage from which it falls", "add voltage: 7.4 V")
	case by != nil && d.Supply.MeasuredBy == FromTelemetry && d.Telemetry == nil:
		r.Report(by.Node, "measure has no telemetry, which is to measure the supply's voltage", "add it under measure, or leave measured_by out")
	case by != nil && d.Supply.MeasuredBy == FromBus && !d.onBus(BusVoltage):
		r.Report(by.Node, "measure has no bus_sensor of a voltage", "add one with quantity: voltage, or leave measured_by out")
	}
}

// sagAtFull reports a declared fall at full throttle that says nothing, or what is known otherwise.
func (r *reader) sagAtFull(d *Stand, v *language.Mapping) {
	x := v.Get("sag_at_full")
	switch volts := d.Supply.Voltage; {
	case x == nil:
	case v.Has("sag"):
		r.Report(x.Node, "sag says by how much the supply falls for each ampere, and sag_at_full says it at full throttle", "write sag where a current is measured, else sag_at_full, and leave the other out")
	case v.Has("measured_by"):
		r.Report(x.Node, "sag_at_full is declared and the voltage is measured too", "leave one of them out")
	case volts == nil:
		r.Report(x.Node, "sag_at_full says nothing without the voltage from which it falls", "add voltage: 7.4 V")
	case x.Number >= *volts/2:
		r.Report(x.Node, fmt.Sprintf("sag_at_full %s is half of the supply's voltage, %s, or more: full throttle would say more of the supply than of the controller", x.Node.Text, language.Voltage.Format(*volts)), "use a stronger supply")
	}
}

// fallsOnce reports a declared fall at full throttle where more than one condition is held: in each it is another.
func (r *reader) fallsOnce(d *Stand, v *language.Mapping) {
	if x := v.Sub("supply").Get("sag_at_full"); x != nil && len(d.Held) > 1 {
		r.Report(x.Node, fmt.Sprintf("sag_at_full is that of one held condition, and %d are held, each with another current", len(d.Held)), "hold one alone, or measure the voltage")
	}
}
