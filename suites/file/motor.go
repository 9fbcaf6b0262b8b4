package file

import (
	"fmt"

	"hilrig/plant"
	"hilrig/rig/decode"
	"hilrig/rig/signal"
	"hilrig/suites/language"
)

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
