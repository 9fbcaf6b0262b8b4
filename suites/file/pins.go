package file

import (
	"fmt"
	"slices"
	"strings"

	"hilrig/rig/interlock"
	"hilrig/rig/raspberry/pinout"
	"hilrig/rig/signal"
	"hilrig/suites/language"
)

// benchKinds are what can play a bench; the first where the file does not say.
var benchKinds = []string{"simulated", "raspberry"}

// resetPin is the pin of the board's reset, which is no line of the layout.
const resetPin = "reset"

// pinTable has every line that a bench can have, save those of serial ports.
var pinTable = language.NewTable("the pins", "GPIO numbers, not positions on the header: hilrig wiring shows those. 0 to 8 are high from power-up until hilrig starts.", []language.Key{
	{Name: "steer", Kind: language.Pin, Example: "GPIO23", Doc: "the receiver's steering pulse"},
	{Name: "throttle", Kind: language.Pin, Example: "GPIO24", Doc: "the receiver's throttle pulse"},
	{Name: "gain", Kind: language.Pin, Example: "GPIO25", Doc: "the receiver's gain pulse"},
},
	wheelPins(language.Key{Kind: language.Pin, Doc: "that wire of the wheel's sensor"}, signal.WheelSensorRoles()...),
	wheelPins(language.Key{Kind: language.Pin, Example: "GPIO5", Doc: "the motor command from the board"}, signal.Motor),
	[]language.Key{{Name: resetPin, Kind: language.Pin, Example: "GPIO26", Doc: "the board's reset line, or the relay of the board's supply"}})

// wheelPins returns keys like k for the lines of these roles at each wheel.
func wheelPins(k language.Key, roles ...signal.Role) []language.Key {
	var keys []language.Key
	for _, w := range signal.Wheels {
		for _, role := range roles {
			k.Name = signal.Spec(role, w).Name
			keys = append(keys, k)
		}
	}
	return keys
}

var interlockTable = language.NewTable("the interlock", "What stands between the rig and a powered motor. Above signals_only all three are needed.", []language.Key{
	{Name: "stop", Kind: language.Pin, Doc: "input: high while the normally closed stop contact is closed, low when it opens or its wire breaks; left out: not wired"},
	{Name: "relay", Kind: language.Pin, Example: "GPIO22", Doc: "output: high closes the relay of the motors' supply; left out: not wired"},
	{Name: "heartbeat", Kind: language.Pin, Example: "GPIO27", Doc: "output: its edges keep the dead-man relay closed; left out: not wired"},
	{Name: "motor_limit", Kind: language.Measure, Quantity: language.Share, Least: "1 %", Most: "100 %", Example: "40 %", Doc: "where motors are powered: a command beyond it, either way, cuts their supply; left out: 25 %"},
	{Name: "supply", Kind: language.Pin, Example: "GPIO16", Doc: "input: high while the motors' supply is on behind the contactors; left out: not wired, and a welded contact is not seen"},
	{Name: "pack", Kind: language.Measure, Quantity: language.Voltage, Least: "5 V", Most: "60 V", Example: "25.2 V", Doc: "the motors' supply, fully charged; hilrig wiring works the circuit out for it"},
	{Name: "capacitance", Kind: language.Measure, Quantity: language.Capacitance, Least: "10 uF", Most: "100 mF", Example: "4000 uF", Doc: "of all speed controllers together, as is printed on their capacitors"},
	{Name: "bleed", Kind: language.Measure, Quantity: language.Resistance, Least: "1 ohm", Most: "100000 ohm", Example: "120 ohm", Doc: "the resistor that empties them once the contactors have opened; with pack and capacitance it says how soon the supply has to be gone. One of them left out: twice what hilrig ready saw, or 2 s"},
	{Name: "coast", Kind: language.Measure, Quantity: language.Duration, Least: "100 ms", Most: "2 min", Example: "10 s", Doc: "how long the motors may go on turning once they are commanded to idle or have no supply, and feed it; left out: 10 s"},
})

// The header's pins. GPIO2 to GPIO8 have their pull-up on from power-up until a program
// changes it (raspberrypi/documentation, gpio-on-raspberry-pi.adoc).
const (
	firstPulled = 9 // the first that is pulled down at boot
	consolePin  = 14
)

// sendingPins are those on which a serial port of some Pi sends; it receives on the
// next (raspberrypi/documentation, uart.adoc; the pin table of periph.io/x/host).
var sendingPins = []int{4, 8, 12, consolePin}

// claim is one use of a pin.
type claim struct {
	name string
	pin  int
	node *language.Node // where it is said
	port string         // the serial port that sends or receives there
	goes bool           // a high level there means go
	role signal.Role    // of the line, where it is one of the bench's own
}

// header reads the pins of lines, ports and interlock, and sees to it that they can be wired
// so. pins and interlock are the file's tables of them, nil where it has none.
func (r *reader) header(layout signal.Layout, pins, interlock *language.Mapping, ports []*language.Mapping) (h Header) {
	claims := r.linePins(layout, pins)
	for _, port := range ports {
		claims = append(claims, r.portPins(&h, port)...)
	}
	for _, c := range claims {
		if h.Pins == nil {
			h.Pins = map[string]int{}
		}
		h.Pins[c.name] = c.pin
	}
	h.Interlock.MotorLimit = interlock.Number("motor_limit")
	h.Interlock.Pack, h.Interlock.Capacitance, h.Interlock.Bleed = interlock.Number("pack"), interlock.Number("capacitance"), interlock.Number("bleed")
	h.Interlock.Coast = interlock.TimeOr("coast", 0)
	for _, one := range append(h.Interlock.pins(), interlockPin{"supply", &h.Interlock.Supply}) {
		if x := interlock.Get(one.name); x != nil {
			*one.pin = int(x.Whole)
			claims = append(claims, claim{name: one.name, pin: int(x.Whole), node: x.Node, goes: true})
		}
	}
	r.shared(claims)
	for _, c := range claims {
		r.bootsHigh(c)
		if c.role == signal.Motor && c.pin < firstPulled {
			h.odd = append(h.odd, r.Source.Shown(language.Problem{Place: r.PlaceOf(c.node), Value: c.node.Text, Level: language.Warning,
				Message: fmt.Sprintf("%s is on GPIO%d, which is pulled high from power-up until hilrig starts: without a buffer between, a speed controller on the same line sees that", c.name, c.pin),
				Remedy:  fmt.Sprintf("use one of GPIO%d to GPIO%d", firstPulled, language.LastPin)}))
		}
	}
	return h
}

// pins lists the interlock's pins that no powered motor goes without, with the names of their keys.
func (i *Interlock) pins() []interlockPin {
	return []interlockPin{{"stop", &i.Stop}, {"relay", &i.Relay}, {"heartbeat", &i.Heartbeat}}
}

type interlockPin struct {
	name string
	pin  *int
}

// portsOf lists a bench's serial ports, a receiver's bus last.
func portsOf(v *language.Mapping) (ports []*language.Mapping) {
	for _, x := range v.List("serial") {
		ports = append(ports, x.Mapping)
	}
	return append(ports, v.Sub("receiver").Sub("bus"))
}

// linePins reads the pins of lines.
func (r *reader) linePins(layout signal.Layout, v *language.Mapping) []claim {
	if v == nil {
		return nil
	}
	var claims []claim
	for _, name := range v.Table.Names() {
		x := v.Get(name)
		if x == nil {
			continue
		}
		line, ok := layout.Line(name)
		if !ok && name != resetPin {
			r.Report(x.Key, fmt.Sprintf("this %s has no wire %s", r.kind, name), "leave it out, or give the sensors the kind that has it")
			continue
		}
		goes := ok && (layout.Lines[line].Role.Receiver() || layout.Lines[line].Role == signal.ThrottleCommand)
		c := claim{name: name, pin: int(x.Whole), node: x.Node, goes: goes}
		if ok {
			c.role = layout.Lines[line].Role
		}
		claims = append(claims, c)
	}
	return claims
}

// portPins reads the device of a serial port, and returns its pins.
func (r *reader) portPins(h *Header, v *language.Mapping) []claim {
	name, device := v.Word("port"), v.Word("device")
	x := v.Get("pin")
	if name == "" || device == "" && x == nil {
		return nil
	}
	if device != "" {
		r.device(h, name, v.Get("device"))
	}
	if pinout.OnAdapter(device) {
		if x == nil {
			return nil
		}
		return []claim{{name: name, pin: int(x.Whole), node: x.Node}} // it only listens
	}
	pin, at := consolePin, v.Get("port").Node
	if x != nil {
		pin, at = int(x.Whole), x.Node
	}
	if !slices.Contains(sendingPins, pin) {
		r.Report(at, fmt.Sprintf("port %s is on GPIO%d, on which no serial port sends", name, pin), "use GPIO14, or on a Pi 4 or 5 also GPIO4, GPIO8 or GPIO12")
		return nil
	}
	return []claim{{name: name, pin: pin, node: at, port: name}, {name: signal.PortSpec{Name: name}.RequestName(), pin: pin + 1, node: at, port: name}}
}

// device takes a port's device file, and reports one that another port has.
func (r *reader) device(h *Header, port string, x *language.Value) {
	if !strings.HasPrefix(x.Word, "/dev/") {
		r.Report(x.Node, fmt.Sprintf("device %q is no device file", language.Brief(x.Word)), "write it like /dev/ttyAMA0")
		return
	}
	for other, device := range h.Devices {
		if device == x.Word && other != port {
			r.Report(x.Node, fmt.Sprintf("device %s is that of port %s already", language.Brief(x.Word), other), "give each port a device of its own, or list all frames under one port")
			return
		}
	}
	if h.Devices == nil {
		h.Devices = map[string]string{}
	}
	h.Devices[port] = x.Word
}

// shared reports pins that have two uses.
func (r *reader) shared(claims []claim) {
	for i, c := range claims {
		for _, first := range claims[:i] {
			if first.pin != c.pin {
				continue
			}
			port, line := first, c
			if c.port != "" {
				port, line = c, first
			}
			if port.port != "" && line.port == "" {
				r.Report(line.node, fmt.Sprintf("%s is on GPIO%d, which belongs to serial port %s", line.name, c.pin, port.port), "give it another pin")
			} else {
				r.Report(c.node, fmt.Sprintf("GPIO%d is used twice, for %s on line %d and for %s", c.pin, first.name, first.node.Line, c.name), "give one of them another pin")
			}
			break
		}
	}
}

// bootsHigh reports what would say go before hilrig runs.
func (r *reader) bootsHigh(c claim) {
	free := fmt.Sprintf("use one of GPIO%d to GPIO%d, but not GPIO%d", firstPulled, language.LastPin, consolePin)
	switch {
	case !c.goes:
	case c.pin < firstPulled:
		r.Report(c.node, fmt.Sprintf("%s is on GPIO%d, which is pulled high from power-up until hilrig starts, and high means go", c.name, c.pin), free)
	case c.pin == consolePin:
		r.Report(c.node, fmt.Sprintf("%s is on GPIO%d, where a Pi whose serial console is on writes while it boots", c.name, c.pin), free)
	}
}

// unwired reports what has to be on pins and is not: lines, others, ports and, where motors are
// powered, the interlock. v is the file, with its keys kind and pins.
func (r *reader) unwired(v *language.Mapping, h *Header, layout signal.Layout, others []string, power interlock.Power) {
	at := v.Get("kind").Node
	if x := v.Get("pins"); x != nil {
		at = x.Node.Head()
	}
	var missing []string
	for _, l := range layout.Lines {
		if l.Role != signal.SerialData && l.Role != signal.SerialRequest {
			missing = append(missing, l.Name)
		}
	}
	missing = slices.DeleteFunc(append(missing, others...), func(name string) bool { return h.Pins[name] != 0 })
	if len(missing) > 0 {
		r.Report(at, "no pin for "+strings.Join(missing, ", "), "add them under pins; hilrig wiring proposes some while kind is left out")
	}
	for _, p := range layout.Ports {
		if h.Devices[p.Name] == "" {
			r.Report(at, fmt.Sprintf("no device for port %s", p.Name), "add device: /dev/ttyAMA0 to the port")
		}
	}
	for _, one := range h.Interlock.pins() {
		if *one.pin == 0 && power > interlock.SignalsOnly {
			r.Report(at, fmt.Sprintf("motors are powered and the interlock has no %s", one.name), "add it under interlock, or write motors_powered: signals_only")
		}
	}
	if h.Interlock.Supply == 0 && power > interlock.SignalsOnly {
		h.odd = append(h.odd, r.Source.Shown(language.Problem{Place: r.PlaceOf(at), Value: at.Text, Level: language.Warning,
			Message: "motors are powered and the interlock has no supply: nothing sees whether the contactors open, and one that is welded stays unseen",
			Remedy:  "wire the sense behind the contactors and add its pin under interlock; hilrig wiring --circuit draws it"}))
	}
}
