package file

import (
	"fmt"
	"slices"

	"hilrig/plant"
	"hilrig/rig/signal"
	"hilrig/rig/trace"
	"hilrig/stimulus"
	"hilrig/stimulus/wire"
	"hilrig/suites/language"
)

// stepKeys may stand at a step or a hold, besides what is held.
var stepKeys = []language.Key{
	{Name: "faults", Kind: language.Group, Many: language.List, Forms: faultForms, Doc: "what is wrong with the wires in this step"},
	{Name: "bumps", Kind: language.Group, Many: language.List, Table: bumpTable, Doc: "changes of load on single wheels, in closed loop"},
	{Name: "sweep", Kind: language.Group, Table: sweepTable, Doc: "one value goes slowly from the first to the second and back within the window; while the step settles it is the first"},
	{Name: "trials", Kind: language.Group, Table: trialsTable, Doc: "one value changes to and fro, each time at a drawn moment"},
}

var sweepTable = language.NewTable("a sweep", "Exactly one value.", twoOf(stimulusKeys, "from and to"))

var trialsTable = language.NewTable("trials", "Exactly one value, with how often and how quickly it changes.", append(twoOf(stimulusKeys, "the value that is held, and the one that it changes to"),
	language.Key{Name: "count", Kind: language.Whole, Least: "2", Most: "20000", Example: "200", Doc: "how often it changes; left out: 200"},
	language.Key{Name: "interval", Kind: language.Measure, Quantity: language.Duration, Least: "5 ms", Most: "10 s", Example: "60 ms", Doc: "from change to change, at least: three frames of the slowest sensor or receiver are given in any case, and what the answers take to end; a drawn delay comes on top; left out: 60 ms"}))

// twoOf returns the keys with two values each, which doc describes.
func twoOf(keys []language.Key, doc string) []language.Key {
	return changed(keys, func(k *language.Key) { k.Many, k.Doc = language.Two, doc })
}

var bumpTable = language.NewTable("a bump", "", []language.Key{
	{Name: "wheel", Kind: language.Word, Required: true, Words: corners[:4], Doc: "the wheel"},
	{Name: "load", Kind: language.Measure, Quantity: language.Share, Required: true, Example: "0 %", Least: "0 %", Most: "100 %", Doc: "share of the wheel's load that is left; 0 % in the air"},
	afterKey,
	{Name: "for", Kind: language.Measure, Quantity: language.Duration, Required: true, Example: "60 ms", Least: "1 ms", Most: "1 min", Doc: "how long it lasts"},
})

var (
	afterKey = language.Key{Name: "after", Kind: language.Measure, Quantity: language.Duration, Example: "100 ms", Least: "0 ms", Most: "10 min", Doc: "when it begins, from the step's beginning; left out: 0 ms"}
	forKey   = language.Key{Name: "for", Kind: language.Measure, Quantity: language.Duration, Example: "200 ms", Least: "1 ms", Most: "10 min", Doc: "how long it lasts; left out: to the step's end"}
)

// faultForms declares each signal fault.
var faultForms = []language.Form{
	faultForm(stimulus.Lost, "a lost wire", "nothing on the wire: its level stays"),
	faultForm(stimulus.Stuck, "a stuck wire", "frames and pulses go on, their value freezes; an encoder stands still"),
	faultForm(stimulus.Noisy, "a noisy wire", "every frame or pulse has noise", byKey("the noise, rms, in the unit of what the wire carries")),
	faultForm(stimulus.Spike, "a spike on a wire", "a few frames or pulses whose value is an outlier", byKey("what is added to the value, in the unit of what the wire carries"),
		language.Key{Name: "frames", Kind: language.Whole, Least: "1", Most: "10000", Doc: "how many frames or pulses, for an encoder ticks of the rig; left out: 1"}),
	faultForm(stimulus.WrongChecksum, "a wrong checksum", "frames with a checksum that is wrong",
		language.Key{Name: "every", Kind: language.Whole, Least: "1", Most: "10000", Doc: "every so many-th frame; left out: 1"}),
	faultForm(stimulus.Delayed, "a delayed wire", "the value comes late",
		language.Key{Name: "by", Kind: language.Measure, Quantity: language.Duration, Required: true, Least: "1 ms", Most: "10 s", Doc: "how late"}),
	faultForm(stimulus.Reversed, "a reversed wire", "the value has the wrong sign; an encoder counts backwards"),
	faultForm(stimulus.Swapped, "swapped wires", "two wires of a kind have changed places",
		language.Key{Name: "with", Kind: language.Text, Required: true, Example: "front_right", Doc: "the other receiver channel or wheel"}),
	faultForm(stimulus.Glitch, "glitches on a wire", "now and then the level of a line turns over for a moment",
		language.Key{Name: "rate", Kind: language.Measure, Quantity: language.Frequency, Required: true, Least: "0.01 Hz", Most: "1000 kHz", Example: "50 Hz", Doc: "how many a second, on the mean, at random"},
		language.Key{Name: "width", Kind: language.Measure, Quantity: language.Duration, Required: true, Least: "1 ns", Most: "1 s", Example: "2 us", Doc: "how long each lasts"}),
	faultForm(stimulus.FailsafeFlag, "a receiver's failsafe flag", "frames of a receiver's bus go on, with the failsafe flag set and the values as they are"),
	faultForm(stimulus.SequenceStuck, "a counter that stands still", "frames go on with live values, and the counter in them stands still"),
	faultForm(stimulus.BadPulse, "a bad pulse", "single pulses of a receiver's channel are too short or too long to stand for anything",
		language.Key{Name: "width", Kind: language.Measure, Quantity: language.Duration, Required: true, Least: "10 us", Most: "20 ms", Example: "300 us", Doc: "how wide they are: outside of what the bench declares for the channel, and below the channel's frame"},
		language.Key{Name: "frames", Kind: language.Whole, Least: "1", Most: "10000", Doc: "how many pulses; left out: 1"}),
	faultForm(stimulus.Jitter, "jitter on a wire", "every edge comes early or late at random",
		language.Key{Name: "by", Kind: language.Measure, Quantity: language.Duration, Required: true, Least: "1 ns", Most: "100 ms", Example: "5 us", Doc: "how much, rms"}),
}

func faultForm(kind stimulus.FaultKind, name, doc string, keys ...language.Key) language.Form {
	word := kind.String()
	example := map[stimulus.FaultKind]string{stimulus.Swapped: "front_left", stimulus.Noisy: "yaw_serial", stimulus.Spike: "yaw_serial", stimulus.WrongChecksum: "yaw_serial",
		stimulus.FailsafeFlag: receiver, stimulus.SequenceStuck: "yaw_rate"}[kind]
	if example == "" {
		example = "steer"
	}
	all := []language.Key{
		{Name: "wire", Kind: language.Text, Required: true, Example: example, Doc: "steer, throttle, gain, receiver for all three of them or their bus, a wheel's encoder (rear_left), one line of it (rear_left_a), or a serial port of the bench, by what it carries (yaw_rate) or by its name, which stands for what it carries first"},
		{Name: "is", Kind: language.Word, Required: true, Words: []string{word}, Doc: "what is wrong with it"},
	}
	all = append(append(all, keys...), afterKey, forKey)
	return language.Form{Has: []string{"is"}, Word: word, Table: language.NewTable(name, doc, all)}
}

// byKey declares a size whose unit depends on the wire.
func byKey(doc string) language.Key {
	return language.Key{Name: "by", Kind: language.Measure, Quantity: language.AngularRate, Also: sensedQuantities, Required: true, Example: "400 deg/s", Doc: doc}
}

// disturb reads a step's faults and bumps.
func (b *caseBuilder) disturb(s *Step, step *language.Mapping) {
	for _, x := range step.List("faults") {
		if x.Bad {
			continue
		}
		f := b.fault(x.Mapping, b.side(step))
		f.From, f.To = b.while(s, x.Mapping)
		s.Faults = append(s.Faults, wholeReceiver(f)...)
	}
	for _, x := range step.List("bumps") {
		v := x.Mapping
		wheel := slices.Index(corners[:4], v.Word("wheel"))
		if wheel < 0 {
			continue
		}
		from, to := b.while(s, v)
		s.Bumps = append(s.Bumps, stimulus.Bump{Wheel: wheel, From: from, To: to, Load: v.Number("load")})
	}
	if step.Written("bumps") && !b.v.Flag("closed") {
		b.Report(step.Node.Key("bumps"), "bumps need the model of the car, and the case is not closed", "add closed: yes to the case")
	}
}

// while returns when something begins and ends in a step, and reports what is
// over after it. The length of trials is drawn and not known here.
func (b *caseBuilder) while(s *Step, v *language.Mapping) (from, to signal.Time) {
	from = v.Time("after")
	length := s.Settle + s.Observe
	if v.Has("for") {
		to = from + v.Time("for")
	}
	key := "after"
	if from < length {
		key = "for"
	}
	if x := v.Get(key); x != nil && s.Trials == nil && max(from, to-1) >= length {
		b.Report(x.Node, fmt.Sprintf("%s %s lies beyond the step, which ends after %s", key, x.Node.Text, span(length)), "move it, or lengthen settle or observe")
	}
	return from, to
}

// fault reads one signal fault, and reports a wire that the bench has not or
// that cannot have it.
func (b *caseBuilder) fault(v *language.Mapping, side float64) stimulus.Fault {
	f := stimulus.Fault{
		Kind: stimulus.FaultKind(slices.Index(stimulus.FaultKinds(), v.Word("is"))),
		Wire: v.Word("wire"), With: v.Word("with"),
		By: v.Number("by"), Frames: int(v.Whole("frames")), Every: int(v.Whole("every")),
		Rate: v.Number("rate"), Width: v.Time("width"),
	}
	if f.Kind == stimulus.Spike || f.Kind == stimulus.BadPulse {
		f.Frames = max(f.Frames, 1)
	}
	x := v.Get("wire")
	if x == nil {
		return f
	}
	w, ok := b.wire(x)
	if !ok {
		return f
	}
	if w.port != "" {
		f.Wire, f.Channel = w.port, w.channel
	}
	b.size(v, w)
	if b.reported(x, w, &f) {
		return f
	}
	switch {
	case w.asked && (f.Kind == stimulus.Glitch || f.Kind == stimulus.Jitter):
		b.Report(x.Node, fmt.Sprintf("port %s answers requests, and its replies cannot have a %s", x.Word, f.Kind), "use lost, stuck or wrong_checksum")
	case w.kind == wheelLine && f.Kind != stimulus.Lost && f.Kind != stimulus.Stuck && f.Kind != stimulus.Glitch && f.Kind != stimulus.Jitter:
		b.Report(x.Node, fmt.Sprintf("line %s is a single line of an encoder, and can be lost, stuck, glitch or jitter, not %s", x.Word, f.Kind), "name the wheel")
	case f.Kind == stimulus.Reversed && w.kind == wheelWire && b.tacho(x.Word):
		b.Report(x.Node, fmt.Sprintf("wheel %s has a tacho, which does not tell the direction", x.Word), "leave the fault out, or use swapped, lost or stuck")
	case f.Kind == stimulus.WrongChecksum && w.kind != serialPort && w.kind != anyWire:
		b.Report(x.Node, fmt.Sprintf("wire %s carries no checksum", x.Word), "name a serial port whose frames have one")
	case f.Kind == stimulus.WrongChecksum && w.kind == serialPort && !w.checked && b.v.Flag("where_wired"):
		b.missing = "no checksum on " + f.Wire
	case f.Kind == stimulus.WrongChecksum && w.kind == serialPort && !w.checked:
		b.Report(x.Node, fmt.Sprintf("the frames on %s have no checksum that could be wrong", x.Word), "add a field like {check: crc8, poly: 0x07} to the bench file, or leave the fault out")
	case f.Kind == stimulus.Swapped:
		b.swapped(v, w)
	}
	if side < 0 && w.mirrored && f.By != 0 && (f.Kind == stimulus.Spike || f.Kind == stimulus.Noisy) {
		f.By = -f.By
	}
	return f
}

// receiver is the wire that stands for all channels of a receiver.
const receiver = "receiver"

// reported reports, or where the case is skipped for it notes, what the bench lacks for a fault
// of the receiver or of a counter.
func (b *caseBuilder) reported(x *language.Value, w wireSort, f *stimulus.Fault) bool {
	skipped := b.v.Flag("where_wired")
	missing, mistake, remedy := "", "", ""
	switch {
	case w.kind == receiverWires && f.Kind != stimulus.Lost && f.Kind != stimulus.FailsafeFlag:
		mistake, remedy = fmt.Sprintf("the receiver as a whole can be lost or have its failsafe flag set, not be %s", f.Kind), "name one of its channels"
	case f.Kind == stimulus.Lost && w.kind == channelWire && b.onBus() && skipped && b.lostTogether(f.Wire):
		missing = "no wire of its own for " + f.Wire
	case f.Kind == stimulus.FailsafeFlag && b.bench != nil && !b.onBus():
		missing = "no receiver bus, whose frames have a failsafe flag"
		mistake, remedy = "the receiver's pulses have no failsafe flag", "play it on a bench with a receiver bus, or leave the fault out"
	case f.Kind == stimulus.FailsafeFlag && w.kind != receiverWires && w.kind != channelWire && !(b.onBus() && x.Word == b.bench.Wiring.Bus.Port):
		mistake, remedy = fmt.Sprintf("wire %s has no failsafe flag", x.Word), "write wire: receiver"
	case f.Kind == stimulus.SequenceStuck && w.kind == serialPort && !w.counted:
		missing = "no counter in the frames on " + f.Wire
		mistake, remedy = fmt.Sprintf("the frames on %s have no counter that could stand still", f.Wire), "add a field like {sequence: u8} to the bench file, or leave the fault out"
	case f.Kind == stimulus.SequenceStuck && w.kind != serialPort && w.kind != anyWire:
		mistake, remedy = fmt.Sprintf("wire %s carries no counter", x.Word), "name a serial port whose frames have one"
	}
	if f.Kind == stimulus.BadPulse {
		missing, mistake, remedy = b.badPulse(x, w, f)
	}
	switch {
	case missing != "" && skipped:
		b.missing = missing
	case mistake != "":
		b.Report(x.Node, mistake, remedy)
	default:
		return false
	}
	return true
}

// lostTogether says whether what follows when a channel is lost is said of the receiver as a
// whole, where all channels share one line. Where it is not, that of the throttle is asked of
// the line.
func (b *caseBuilder) lostTogether(channel string) bool {
	return channel != "throttle" || b.car == nil || b.car.Policy.ReceiverLost != nil
}

// wholeReceiver returns the faults of the wires that a fault is on: of the receiver as a whole
// those of its channels.
func wholeReceiver(f stimulus.Fault) []stimulus.Fault {
	switch {
	case f.Wire != receiver:
		return []stimulus.Fault{f}
	case f.Kind == stimulus.FailsafeFlag:
		f.Wire = "throttle" // they share the frames
		return []stimulus.Fault{f}
	}
	all := []stimulus.Fault{f, f, f}
	all[0].Wire, all[1].Wire, all[2].Wire = "steer", "throttle", "gain"
	return all
}

// onBus says whether the receiver's channels share one line.
func (b *caseBuilder) onBus() bool { return b.bench != nil && b.bench.Wiring.Bus.Port != "" }

// tacho says whether a wheel's sensor is a tacho.
func (b *caseBuilder) tacho(wheel string) bool {
	i := slices.Index(corners[:4], wheel)
	return b.bench != nil && i >= 0 && b.bench.Wiring.Encoders[i].Kind == wire.TachoWheel
}

// swapped reports wires that cannot change places.
func (b *caseBuilder) swapped(v *language.Mapping, w wireSort) {
	x := v.Get("with")
	if x == nil {
		return
	}
	other, ok := b.wire(x)
	switch {
	case !ok || w.kind == anyWire || other.kind == anyWire:
	case v.Word("wire") == x.Word:
		b.Report(x.Node, fmt.Sprintf("%s is swapped with itself", x.Word), "name another wire")
	case other.kind != w.kind || w.kind != channelWire && w.kind != wheelWire:
		b.Report(x.Node, fmt.Sprintf("%s and %s cannot be swapped", v.Word("wire"), x.Word), "name two receiver channels, or two wheels")
	}
}

// wireKind is what sort a wire is of.
type wireKind uint8

const (
	channelWire wireKind = iota
	wheelWire
	wheelLine
	receiverWires // all channels of the receiver
	serialPort
	anyWire // a serial port of a bench that is not known
)

// wireSort is what there is to know of a wire before it is faulted.
type wireSort struct {
	name     string
	kind     wireKind
	quantity language.Quantity // of what it carries
	checked  bool              // a serial port whose frames have a checksum
	counted  bool              // a serial port whose frames count
	asked    bool              // a serial port whose frames are sent on request
	mirrored bool              // what it carries changes its sign in the mirror image
	port     string            // of a serial port that is named by what it carries: its name
	channel  string            // the same: what it carries, where its first message has something else before that
}

// wire returns what kind of wire x names, and reports one that the bench has
// not. Without a bench, a name that is none of the car's counts as a serial port.
func (b *caseBuilder) wire(x *language.Value) (w wireSort, ok bool) {
	var names []string
	for _, w := range b.wires() {
		if w.name == x.Word {
			return w, true
		}
		if w.kind != wheelLine {
			names = append(names, w.name)
		}
	}
	if b.bench == nil {
		return wireSort{kind: anyWire}, true
	}
	if port := b.portOf(x.Word); port != "" {
		return portSort(port, x.Word, b.bench.Wiring.Frames), true
	}
	if b.v.Flag("where_wired") {
		b.missing = "no wire " + language.Brief(x.Word)
		return w, false
	}
	b.Report(x.Node, fmt.Sprintf("wire %q is not one of bench %q", language.Brief(x.Word), language.Brief(b.bench.Name)), language.Instead(x.Word, names))
	return w, false
}

// wires lists the wires that can have a fault; without a bench those of every bench with quadrature encoders.
func (b *caseBuilder) wires() []wireSort {
	all := []wireSort{
		{name: "steer", kind: channelWire, quantity: language.Angle, mirrored: true},
		{name: "throttle", kind: channelWire, quantity: language.Share},
		{name: "gain", kind: channelWire, quantity: language.Share},
		{name: receiver, kind: receiverWires, quantity: language.Share},
	}
	for _, wheel := range plant.Wheels {
		all = append(all, wireSort{name: wheel.String(), kind: wheelWire, quantity: language.AngularRate})
		sensor := wire.WheelSensor{}
		if b.bench != nil {
			sensor = b.bench.Wiring.Encoders[wheel]
		}
		for _, role := range sensor.Wires() {
			all = append(all, wireSort{name: signal.Spec(role, signal.Wheels[wheel]).Name, kind: wheelLine, quantity: language.AngularRate})
		}
	}
	if b.onBus() {
		all = append(all, wireSort{name: b.bench.Wiring.Bus.Port, kind: serialPort, quantity: language.Share})
	}
	if b.bench != nil {
		for _, p := range b.bench.Wiring.Ports {
			all = append(all, portSort(p.Name, "", b.bench.Wiring.Frames))
		}
	}
	return all
}

// portOf returns the serial port that carries the channel of that name, "" where
// none does or a port has that name itself. Of several it is the first.
func (b *caseBuilder) portOf(channel string) string {
	port := ""
	frames := b.bench.Wiring.Frames
	for i := range frames {
		f := &frames[i]
		if f.Port == channel {
			return ""
		}
		if port == "" && slices.Contains(carried(f), channel) {
			port = f.Port
		}
	}
	return port
}

// carried lists the channels that a message carries, in its order: those of fields,
// packed ones too, or of a sentence.
func carried(f *wire.Frame) []string {
	e, err := wire.NewFrames(*f, quiet{}, 0)
	if err != nil {
		return nil
	}
	return e.Channels()
}

// portSort looks at the frames on a port: the channel of that name, "" for what
// the first carries first, and whether any has a checksum.
func portSort(name, channel string, frames []wire.Frame) wireSort {
	w := wireSort{name: name, kind: serialPort, quantity: language.AngularRate}
	falls, seen := "", false // what a fault falls on that names the port alone
	for i := range frames {
		f := &frames[i]
		if f.Port != name {
			continue
		}
		w.checked, w.counted = w.checked || f.Checked(), w.counted || f.Counts()
		w.asked = w.asked || len(f.Request) > 0
		if list := carried(f); !seen && len(list) > 0 {
			falls = list[0]
		}
		seen = true
	}
	if channel != "" {
		w.port = name
		if channel != falls {
			w.channel = channel
		}
		falls = channel
	}
	if c, ok := trace.ChannelNamed(falls); ok {
		w.quantity, _ = channelQuantity(c)
		w.mirrored = turnsOver(c)
	}
	return w
}

// turnsOver tells whether a channel changes its sign in the mirror image.
func turnsOver(c trace.Channel) bool {
	switch c {
	case trace.YawRate, trace.Steer, trace.LateralSpeed, trace.LateralAccel, trace.Heading:
		return true
	}
	return false
}

// otherWire returns the wire's twin on the other side of the car.
func otherWire(name string) string {
	for i, wheel := range signal.Wheels {
		other := signal.Wheels[otherSide(i)]
		if name == wheel.String() {
			return other.String()
		}
		for _, role := range signal.WheelSensorRoles() {
			if name == signal.Spec(role, wheel).Name {
				return signal.Spec(role, other).Name
			}
		}
	}
	return name
}

// size reports a fault's size that is not of what the wire carries.
func (b *caseBuilder) size(v *language.Mapping, w wireSort) {
	x := v.Get("by")
	if x == nil || w.kind == anyWire || v.Word("is") == stimulus.Delayed.String() || v.Word("is") == stimulus.Jitter.String() || x.Quantity == w.quantity {
		return
	}
	b.Report(x.Node, fmt.Sprintf("by: %q is %s where %s is expected, which %s carries", x.Node.Text, x.Quantity.Noun(), w.quantity.Noun(), v.Word("wire")), "write it like "+w.quantity.Example())
}
