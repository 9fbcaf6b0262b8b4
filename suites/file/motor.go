package file

import (
	"fmt"

	"hilrig/plant"
	"hilrig/rig/decode"
	"hilrig/rig/signal"
	"hilrig/suites/language"
)

// motorLineForms are the formats of motor commands, known by the word at kind.
var motorLineForms = func() (forms []language.Form) {
	for k := range decode.MotorKinds {
		t := servoMotorsTable
		switch {
		case k.Digital():
			t = digitalMotorsTable
		case k == decode.OneShot125:
			t = oneShotMotorsTable
		}
		forms = append(forms, language.Form{Has: []string{"kind"}, Word: k.String(), Table: t})
	}
	return forms
}()

// motorKindKey names the formats that stand in one table.
func motorKindKey(kinds ...decode.MotorKind) language.Key {
	k := language.Key{Name: "kind", Kind: language.Word, Required: true, Doc: "the signal"}
	for _, kind := range kinds {
		k.Words = append(k.Words, kind.String())
	}
	return k
}

var servoMotorsTable = language.NewTable("the motor commands", "", []language.Key{
	motorKindKey(decode.ServoPulse),
	{Name: "idle", Kind: language.Measure, Quantity: language.Duration, Required: true, Least: "10 us", Most: "5 ms", Example: "1000 us", Doc: "pulse that stands for 0 %"},
	{Name: "full", Kind: language.Measure, Quantity: language.Duration, Required: true, Least: "10 us", Most: "5 ms", Example: "2000 us", Doc: "pulse that stands for 100 %"},
}, pulseMotorKeys, []language.Key{
	{Name: "least", Kind: language.Measure, Quantity: language.Duration, Least: "1 us", Most: "10 ms", Example: "800 us", Doc: "a shorter pulse is an event; left out: 500 us"},
	{Name: "most", Kind: language.Measure, Quantity: language.Duration, Least: "1 us", Most: "10 ms", Example: "2200 us", Doc: "a longer pulse is an event; left out: 2500 us"},
}, motorKeys)

var oneShotMotorsTable = language.NewTable("the motor commands as pulses of an eighth", "", []language.Key{
	motorKindKey(decode.OneShot125),
	{Name: "idle", Kind: language.Measure, Quantity: language.Duration, Least: "10 us", Most: "1 ms", Example: "125 us", Doc: "pulse that stands for 0 %; left out: 125 us, or 187.5 us with a neutral"},
	{Name: "full", Kind: language.Measure, Quantity: language.Duration, Least: "10 us", Most: "1 ms", Example: "250 us", Doc: "pulse that stands for 100 %; left out: 250 us"},
}, pulseMotorKeys, []language.Key{
	{Name: "least", Kind: language.Measure, Quantity: language.Duration, Least: "1 us", Most: "1 ms", Example: "100 us", Doc: "a shorter pulse is an event; left out: 100 us"},
	{Name: "most", Kind: language.Measure, Quantity: language.Duration, Least: "1 us", Most: "1 ms", Example: "300 us", Doc: "a longer pulse is an event; left out: 300 us"},
}, motorKeys)

// pulseMotorKeys are those of all pulses.
var pulseMotorKeys = []language.Key{
	{Name: "with_neutral", Kind: language.Flag, Doc: "pulses on the other side of idle are commands down to -100 %; left out: no"},
	{Name: "inverted", Kind: language.Flag, Doc: "the pulse is low; left out: no"},
	{Name: "wheels", Kind: language.Group, Table: pulseWheelsTable, Doc: "what differs at single wheels"},
}

// motorKeys are those of all formats.
var motorKeys = []language.Key{
	{Name: "rate", Kind: language.Measure, Quantity: language.Frequency, Least: "1 Hz", Most: "50 kHz", Example: "400 Hz", Doc: "commands a second: the built-in board's, and for hilrig lint to tell what response is possible; left out: not known"},
	{Name: "lost_after", Kind: language.Measure, Quantity: language.Duration, Least: "1 ms", Most: "10 s", Example: "100 ms", Doc: "no command for this long is a loss; left out: 100 ms"},
}

var pulseWheelsTable = language.NewTable("the wheels of the motor commands", "", perWheel(language.Key{Kind: language.Group, Table: pulseWheelTable, Doc: "what differs at this wheel"}))

var pulseWheelTable = language.NewTable("one wheel's motor command", "", []language.Key{
	{Name: "idle", Kind: language.Measure, Quantity: language.Duration, Least: "10 us", Most: "5 ms", Example: "1000 us", Doc: "pulse that stands for 0 %"},
	{Name: "full", Kind: language.Measure, Quantity: language.Duration, Least: "10 us", Most: "5 ms", Example: "2000 us", Doc: "pulse that stands for 100 %"},
	{Name: "inverted", Kind: language.Flag, Doc: "the pulse is low"},
})

var digitalMotorsTable = language.NewTable("the motor commands as digital frames", "", []language.Key{
	motorKindKey(decode.DShot150, decode.DShot300, decode.DShot600),
	{Name: "two_direction", Kind: language.Flag, Doc: "values 48 to 1047 turn the motor one way and 1048 to 2047 the other; left out: no"},
	forwardKey,
	{Name: "inverted", Kind: language.Flag, Doc: "the line rests high and the checksum is inverted; left out: no"},
	{Name: "stop_is_idle", Kind: language.Flag, Doc: "a value of 0, motor stop, is the command 0 %; left out: no, it is an event"},
	{Name: "wheels", Kind: language.Group, Table: digitalWheelsTable, Doc: "what differs at single wheels"},
}, motorKeys)

// The halves of the values of a digital frame with two directions.
const (
	lowerHalf = "lower"
	upperHalf = "upper"
)

var forwardKey = language.Key{Name: "forward", Kind: language.Word, Words: []string{upperHalf, lowerHalf}, Doc: "with two_direction: the half of the values that drives ahead, 1048 to 2047 or 48 to 1047"}

var digitalWheelsTable = language.NewTable("the wheels of the digital commands", "", perWheel(language.Key{Kind: language.Group, Table: digitalWheelTable, Doc: "what differs at this wheel"}))

var digitalWheelTable = language.NewTable("one wheel's digital command", "", []language.Key{
	forwardKey,
	{Name: "inverted", Kind: language.Flag, Doc: "the line rests high and the checksum is inverted"},
})

// motorLines reads the motor commands' format.
func (r *reader) motorLines(b *Bench, v *language.Mapping) {
	kind, ok := decode.MotorKindNamed(v.Word("kind"))
	if !ok {
		return
	}
	b.MotorRate = v.Number("rate")
	wheels := v.Sub("wheels")
	for _, w := range plant.Wheels {
		one, m := wheels.Sub(w.String()), &b.Wiring.Motors[w]
		if kind.Digital() {
			*m = decode.Motor{Kind: kind, DShot: digital(v, one)}
			r.checkSense(v, one)
		} else {
			*m = decode.Motor{Kind: kind, Servo: pulses(v, one)}
			if kind != decode.ServoPulse || v.Has("idle") && v.Has("full") {
				r.checkPulses(v, one, m)
			}
		}
	}
	r.checkRate(v, b)
}

// checkPulses reports widths that are no range.
func (r *reader) checkPulses(v, one *language.Mapping, m *decode.Motor) {
	node := v.Node
	if one != nil {
		node = one.Node
	}
	s := m.Pulse()
	low, high := m.Times()
	switch {
	case s.Idle == s.Full:
		if x := v.Get("full"); x != nil && one == nil {
			node = x.Node
		}
		r.Report(node, "motors: idle and full are the same width", "give two widths")
	case low < s.Least || high > s.Most:
		r.Report(node, fmt.Sprintf("motors: pulses of %s to %s are not all between least %s and most %s", span(low), span(high), span(s.Least), span(s.Most)), "give least and most that hold them")
	case s.LostAfter <= s.Most:
		r.Report(node, fmt.Sprintf("motors: a loss after %s is not longer than a pulse of %s", span(s.LostAfter), span(s.Most)), "give a longer lost_after or a smaller most")
	}
}

// checkSense reports a sense that is not declared, or declared for nothing.
func (r *reader) checkSense(v, one *language.Mapping) {
	switch both := v.Flag("two_direction"); {
	case both && !v.Has("forward") && !one.Has("forward"):
		r.Report(v.Node, "motors: two_direction does not say which half of the values drives ahead", "add forward: upper, or forward: lower")
	case !both && v.Has("forward"):
		r.Report(v.Get("forward").Node, "motors: forward has no meaning without two_direction", "add two_direction: yes, or leave it out")
	case !both && one.Has("forward"):
		r.Report(one.Get("forward").Node, "motors: forward has no meaning without two_direction", "add two_direction: yes, or leave it out")
	}
}

// restAfter is what a line needs between two commands.
const restAfter = 10 * signal.Microsecond

// checkRate reports commands that do not fit their rate.
func (r *reader) checkRate(v *language.Mapping, b *Bench) {
	if b.MotorRate == 0 {
		return
	}
	for i := range b.Wiring.Motors {
		if _, longest := b.Wiring.Motors[i].Times(); longest+restAfter > signal.FromSeconds(1/b.MotorRate) {
			r.Report(v.Get("rate").Node, fmt.Sprintf("motors: commands of up to %s do not fit %s", span(longest), language.Frequency.Format(b.MotorRate)), "give a lower rate")
			return
		}
	}
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
		Inverted: ownOr(one, v, "inverted").Flag("inverted"), StopIsIdle: v.Flag("stop_is_idle"), LostAfter: v.Time("lost_after"),
	}
}
