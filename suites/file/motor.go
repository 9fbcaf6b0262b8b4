package file

import (
	"fmt"

	"hilrig/plant"
	"hilrig/rig/decode"
	"hilrig/rig/signal"
)

// motorLines reads the motor commands' format.
func (r *reader) motorLines(b *Bench, v *values) {
	kind, ok := decode.MotorKindNamed(v.word("kind"))
	if !ok {
		return
	}
	b.MotorRate = v.number("rate")
	wheels := v.sub("wheels")
	for _, w := range plant.Wheels {
		one, m := wheels.sub(w.String()), &b.Wiring.Motors[w]
		if kind.Digital() {
			*m = decode.Motor{Kind: kind, DShot: digital(v, one)}
			r.checkSense(v, one)
		} else {
			*m = decode.Motor{Kind: kind, Servo: pulses(v, one)}
			if kind != decode.ServoPulse || v.has("idle") && v.has("full") {
				r.checkPulses(v, one, m)
			}
		}
	}
	r.checkRate(v, b)
}

// checkPulses reports widths that are no range.
func (r *reader) checkPulses(v, one *values, m *decode.Motor) {
	node := v.node
	if one != nil {
		node = one.node
	}
	s := m.Pulse()
	low, high := m.Times()
	switch {
	case s.Idle == s.Full:
		if x := v.get("full"); x != nil && one == nil {
			node = x.node
		}
		r.problem(node, "motors: idle and full are the same width", "give two widths")
	case low < s.Least || high > s.Most:
		r.problem(node, fmt.Sprintf("motors: pulses of %s to %s are not all between least %s and most %s", span(low), span(high), span(s.Least), span(s.Most)), "give least and most that hold them")
	case s.LostAfter <= s.Most:
		r.problem(node, fmt.Sprintf("motors: a loss after %s is not longer than a pulse of %s", span(s.LostAfter), span(s.Most)), "give a longer lost_after or a smaller most")
	}
}

// checkSense reports a sense that is not declared, or declared for nothing.
func (r *reader) checkSense(v, one *values) {
	switch both := v.flag("two_direction"); {
	case both && !v.has("forward") && !one.has("forward"):
		r.problem(v.node, "motors: two_direction does not say which half of the values drives ahead", "add forward: upper, or forward: lower")
	case !both && v.has("forward"):
		r.problem(v.get("forward").node, "motors: forward has no meaning without two_direction", "add two_direction: yes, or leave it out")
	case !both && one.has("forward"):
		r.problem(one.get("forward").node, "motors: forward has no meaning without two_direction", "add two_direction: yes, or leave it out")
	}
}

// restAfter is what a line needs between two commands.
const restAfter = 10 * signal.Microsecond

// checkRate reports commands that do not fit their rate.
func (r *reader) checkRate(v *values, b *Bench) {
	if b.MotorRate == 0 {
		return
	}
	for i := range b.Wiring.Motors {
		if _, longest := b.Wiring.Motors[i].Times(); longest+restAfter > signal.FromSeconds(1/b.MotorRate) {
			r.problem(v.get("rate").node, fmt.Sprintf("motors: commands of up to %s do not fit %s", span(longest), Frequency.Format(b.MotorRate)), "give a lower rate")
			return
		}
	}
}

// pulses reads the pulses of one wheel, whose own keys stand before those of all.
func pulses(v, one *values) decode.Servo {
	s := decode.Servo{
		Idle: v.time("idle"), Full: v.time("full"),
		WithNeutral: v.flag("with_neutral"), Inverted: v.flag("inverted"),
		Least: v.time("least"), Most: v.time("most"), LostAfter: v.time("lost_after"),
	}
	if one.has("idle") {
		s.Idle = one.time("idle")
	}
	if one.has("full") {
		s.Full = one.time("full")
	}
	if one.has("inverted") {
		s.Inverted = one.flag("inverted")
	}
	return s
}

// digital reads the frames of one wheel.
func digital(v, one *values) decode.DShot {
	d := decode.DShot{
		TwoDirection: v.flag("two_direction"), ForwardLower: v.word("forward") == lowerHalf,
		Inverted: v.flag("inverted"), StopIsIdle: v.flag("stop_is_idle"), LostAfter: v.time("lost_after"),
	}
	if one.has("forward") {
		d.ForwardLower = one.word("forward") == lowerHalf
	}
	if one.has("inverted") {
		d.Inverted = one.flag("inverted")
	}
	return d
}
