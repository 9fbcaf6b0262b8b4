package file

import (
	"fmt"

	"hilrig/plant"
	"hilrig/rig/decode"
	"hilrig/rig/signal"
	"hilrig/suites/language"
)

// motorLineForms are the formats of a bench's four motor commands.
var motorLineForms = commandForms("the motor commands",
	[]language.Key{wheelsOf("the wheels of the motor commands", pulseWheelTable)},
	[]language.Key{wheelsOf("the wheels of the digital commands", digitalWheelTable)})

// commandForms declares the formats of motor commands, known by the word at kind. name says in
// messages whose they are; pulse and digital are further keys of formats with pulses and with digital
// frames. [reader.command] reads what stands there.
func commandForms(name string, pulse, digital []language.Key) (forms []language.Form) {
	servo := language.NewTable(name, "", []language.Key{
		commandKindKey(decode.ServoPulse),
		{Name: "idle", Kind: language.Measure, Quantity: language.Duration, Required: true, Least: "10 us", Most: "5 ms", Example: "1000 us", Doc: "pulse that stands for 0 %"},
		{Name: "full", Kind: language.Measure, Quantity: language.Duration, Required: true, Least: "10 us", Most: "5 ms", Example: "2000 us", Doc: "pulse that stands for 100 %"},
	}, pulseKeys, pulse, []language.Key{
		{Name: "least", Kind: language.Measure, Quantity: language.Duration, Least: "1 us", Most: "10 ms", Example: "800 us", Doc: "a shorter pulse is an event; left out: 500 us"},
		{Name: "most", Kind: language.Measure, Quantity: language.Duration, Least: "1 us", Most: "10 ms", Example: "2200 us", Doc: "a longer pulse is an event; left out: 2500 us"},
	}, commandKeys)
	oneShot := language.NewTable(name+" as pulses of an eighth", "", []language.Key{
		commandKindKey(decode.OneShot125),
		{Name: "idle", Kind: language.Measure, Quantity: language.Duration, Least: "10 us", Most: "1 ms", Example: "125 us", Doc: "pulse that stands for 0 %; left out: 125 us, or 187.5 us with a neutral"},
		{Name: "full", Kind: language.Measure, Quantity: language.Duration, Least: "10 us", Most: "1 ms", Example: "250 us", Doc: "pulse that stands for 100 %; with a neutral the pulse as far from idle on the other side stands for -100 %, which is 125 us where idle and full are left out; left out: 250 us"},
	}, pulseKeys, pulse, []language.Key{
		{Name: "least", Kind: language.Measure, Quantity: language.Duration, Least: "1 us", Most: "1 ms", Example: "100 us", Doc: "a shorter pulse is an event; left out: 100 us"},
		{Name: "most", Kind: language.Measure, Quantity: language.Duration, Least: "1 us", Most: "1 ms", Example: "300 us", Doc: "a longer pulse is an event; left out: 300 us"},
	}, commandKeys)
	frames := language.NewTable(name+" as digital frames", "", []language.Key{
		commandKindKey(decode.DShot150, decode.DShot300, decode.DShot600),
		{Name: "two_direction", Kind: language.Flag, Doc: "values 48 to 1047 turn the motor one way and 1048 to 2047 the other; in each half its lowest value, 48 and 1048, stands for 0 % and its highest for 100 % of that way, the way that does not drive ahead being counted below 0; left out: no"},
		forwardKey,
		{Name: "inverted", Kind: language.Flag, Doc: "the line rests high and the checksum is inverted; left out: no"},
		{Name: "stop_is_idle", Kind: language.Flag, Doc: "a value of 0, motor stop, is the command 0 %; left out: no, it is an event"},
		{Name: "bit_tolerance", Kind: language.Measure, Quantity: language.Share, Least: "0.5 %", Most: "10 %", Example: "2 %", Doc: "how far the times of a bit, and of the pulses for 0 and 1, may be from the nominal ones, of a bit time: the less, the slower a machine can read them; left out: 10 %"},
	}, digital, commandKeys)
	for k := range decode.MotorKinds {
		t := servo
		switch {
		case k.Digital():
			t = frames
		case k == decode.OneShot125:
			t = oneShot
		}
		forms = append(forms, language.Form{Has: []string{"kind"}, Word: k.String(), Table: t})
	}
	return forms
}

// commandKindKey names the formats that stand in one table.
func commandKindKey(kinds ...decode.MotorKind) language.Key {
	k := language.Key{Name: "kind", Kind: language.Word, Required: true, Doc: "the signal"}
	for _, kind := range kinds {
		k.Words = append(k.Words, kind.String())
	}
	return k
}

// pulseKeys are those of all pulses, commandKeys those of all formats.
var (
	pulseKeys = []language.Key{
		{Name: "with_neutral", Kind: language.Flag, Doc: "pulses on the other side of idle are commands down to -100 %, which is the pulse as far from idle as full is: 1000 us with an idle of 1500 us and a full of 2000 us; left out: no"},
		{Name: "inverted", Kind: language.Flag, Doc: "the pulse is low; left out: no"},
	}
	commandKeys = []language.Key{
		{Name: "rate", Kind: language.Measure, Quantity: language.Frequency, Least: "1 Hz", Most: "50 kHz", Example: "400 Hz", Doc: "commands a second: the built-in board's, and for hilrig lint to tell what response is possible; left out: not known"},
		{Name: "lost_after", Kind: language.Measure, Quantity: language.Duration, Least: "1 ms", Most: "10 s", Example: "100 ms", Doc: "no command for this long is a loss; left out: 100 ms"},
	}
)

// The halves of the values of a digital frame with two directions.
const (
	lowerHalf = "lower"
	upperHalf = "upper"
)

var forwardKey = language.Key{Name: "forward", Kind: language.Word, Words: []string{upperHalf, lowerHalf}, Doc: "with two_direction: the half of the values that drives ahead, 1048 to 2047 or 48 to 1047; with upper, 1048 is 0 %, 2047 is 100 % and 1047 is -100 %; with lower, 48 is 0 %, 1047 is 100 % and 2047 is -100 %; the other half's lowest value is 0 % too"}

var pulseWheelTable = language.NewTable("one wheel's motor command", "", []language.Key{
	{Name: "idle", Kind: language.Measure, Quantity: language.Duration, Least: "10 us", Most: "5 ms", Example: "1000 us", Doc: "pulse that stands for 0 %"},
	{Name: "full", Kind: language.Measure, Quantity: language.Duration, Least: "10 us", Most: "5 ms", Example: "2000 us", Doc: "pulse that stands for 100 %"},
	{Name: "inverted", Kind: language.Flag, Doc: "the pulse is low"},
})

var digitalWheelTable = language.NewTable("one wheel's digital command", "", []language.Key{
	forwardKey,
	{Name: "inverted", Kind: language.Flag, Doc: "the line rests high and the checksum is inverted"},
})

// wheelsOf is the key of what differs at single wheels, each of which has a table like single.
func wheelsOf(name string, single *language.Table) language.Key {
	wheels := language.NewTable(name, "", perWheel(language.Key{Kind: language.Group, Table: single, Doc: "what differs at this wheel"}))
	return language.Key{Name: "wheels", Kind: language.Group, Table: wheels, Doc: "what differs at single wheels"}
}

// motorLines reads the formats of a bench's four motor commands.
func (r *reader) motorLines(b *Bench, v *language.Mapping) {
	wheels := v.Sub("wheels")
	for _, w := range plant.Wheels {
		b.Wiring.Motors[w] = r.command("motors", v, wheels.Sub(w.String()))
	}
	b.MotorRate = r.commandRate("motors", v, b.Wiring.Motors[:]...)
}

// command reads the format of the commands on one line, which messages call name. What own says,
// which may be nil, stands before what v says.
func (r *reader) command(name string, v, own *language.Mapping) (m decode.Motor) {
	kind, ok := decode.MotorKindNamed(v.Word("kind"))
	if !ok {
		return m
	}
	m.Kind = kind
	if kind.Digital() {
		m.DShot = digital(v, own)
		r.checkSense(name, v, own)
		return m
	}
	m.Servo = pulses(v, own)
	if kind != decode.ServoPulse || v.Has("idle") && v.Has("full") {
		r.checkPulses(name, v, own, &m)
	}
	return m
}

// checkPulses reports widths that are no range.
func (r *reader) checkPulses(name string, v, own *language.Mapping, m *decode.Motor) {
	node := v.Node
	if own != nil {
		node = own.Node
	}
	s := m.Pulse()
	low, high := m.Times()
	switch {
	case s.Idle == s.Full:
		if x := v.Get("full"); x != nil && own == nil {
			node = x.Node
		}
		r.Report(node, name+": idle and full are the same width", "give two widths")
	case low < s.Least || high > s.Most:
		r.Report(node, fmt.Sprintf("%s: pulses of %s to %s are not all between least %s and most %s", name, span(low), span(high), span(s.Least), span(s.Most)), "give least and most that hold them")
	case s.LostAfter <= s.Most:
		r.Report(node, fmt.Sprintf("%s: a loss after %s is not longer than a pulse of %s", name, span(s.LostAfter), span(s.Most)), "give a longer lost_after or a smaller most")
	}
}

// checkSense reports a sense that is not declared, or declared for nothing.
func (r *reader) checkSense(name string, v, own *language.Mapping) {
	if v.Flag("two_direction") {
		if !v.Has("forward") && !own.Has("forward") {
			r.Report(v.Node, name+": two_direction does not say which half of the values drives ahead", "add forward: upper, or forward: lower")
		}
		return
	}
	for _, says := range []*language.Mapping{v, own} {
		if x := says.Get("forward"); x != nil {
			r.Report(x.Node, name+": forward has no meaning without two_direction", "add two_direction: yes, or leave it out")
		}
	}
}

// restAfter is what a line needs between two commands.
const restAfter = 10 * signal.Microsecond

// commandRate returns how often a second commands come, 0 where v does not say it, and reports commands
// that do not fit their rate.
func (r *reader) commandRate(name string, v *language.Mapping, lines ...decode.Motor) float64 {
	rate := v.Number("rate")
	for i := range lines {
		if _, longest := lines[i].Times(); rate > 0 && longest+restAfter > signal.FromSeconds(1/rate) {
			r.Report(v.Get("rate").Node, fmt.Sprintf("%s: commands of up to %s do not fit %s", name, span(longest), language.Frequency.Format(rate)), "give a lower rate")
			break
		}
	}
	return rate
}

// pulses reads the pulses of one wheel, whose own keys stand before those of all.
func pulses(v, one *language.Mapping) decode.Servo {
	return decode.Servo{
		Idle: one.TimeOr("idle", v.Time("idle")), Full: one.TimeOr("full", v.Time("full")),
		WithNeutral: v.Flag("with_neutral"), Inverted: ownOr(one, v, "inverted").Flag("inverted"),
		Least: v.Time("least"), Most: v.Time("most"), LostAfter: v.Time("lost_after"),
	}
}

// digital reads the frames of one wheel.
func digital(v, one *language.Mapping) decode.DShot {
	return decode.DShot{
		TwoDirection: v.Flag("two_direction"), ForwardLower: one.WordOr("forward", v.Word("forward")) == lowerHalf,
		Inverted: ownOr(one, v, "inverted").Flag("inverted"), StopIsIdle: v.Flag("stop_is_idle"), Tolerance: v.Number("bit_tolerance"), LostAfter: v.Time("lost_after"),
	}
}
