package file

import (
	"fmt"
	"math"
	"slices"

	"hilrig/rig/interlock"
	"hilrig/rig/signal"
	"hilrig/suites/language"
)

// standPinTable has every line that a stand can have.
var standPinTable = language.NewTable("the pins of a stand", "GPIO numbers, not positions on the header. 0 to 8 are high from power-up until hilrig starts.", standPins())

// standPinDocs say what the lines carry.
var standPinDocs = map[signal.Role]string{
	signal.ThrottleCommand: "the command to the controller",
	signal.ShaftA:          "the encoder's wire A",
	signal.ShaftB:          "the encoder's wire B",
	signal.ShaftTacho:      "the tacho",
	signal.CellClock:       "the clock of the load cell's converter",
	signal.CellData:        "the data of the load cell's converter",
	signal.ESCTelemetry:    "what the controller says of itself",
}

func standPins() (keys []language.Key) {
	for _, role := range signal.StandRoles() {
		keys = append(keys, language.Key{Name: signal.Spec(role, signal.NoWheel).Name, Kind: language.Pin, Doc: standPinDocs[role]})
	}
	return keys
}

// DefaultMotorLimit is what a command may be where motors are powered and the file does not say.
const DefaultMotorLimit = 0.25

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
		limit = DefaultMotorLimit
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
