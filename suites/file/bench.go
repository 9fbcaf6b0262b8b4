package file

import (
	"fmt"
	"slices"
	"strconv"

	"hilrig/rig/raspberry/header"
	"hilrig/rig/signal"
	"hilrig/stimulus/wire"
)

// ParseBench reads a bench file. The error is of type [Problems]. Numbers are
// SI. What the steering pulse stands for is the car's matter: see [Complete].
func ParseBench(s Source) (*Bench, error) { return ParseBenchOn(s, header.NoPi) }

// ParseBenchOn is ParseBench on a computer: a real bench whose file names none keeps
// to the limits of that one, if it is a Pi that a bench can stand on.
func ParseBenchOn(s Source, host header.Model) (*Bench, error) {
	r := newReader(s)
	top := r.tree("bench")
	if top == nil {
		return nil, r.problems.sorted()
	}
	v := r.read(top, &BenchTable)
	b := &Bench{Source: s, Name: v.word("bench"), Kind: benchKinds[0], ports: map[string]Place{}}
	if v.has("kind") {
		b.Kind = v.word("kind")
	}
	b.Wiring.Tick = signal.Millisecond
	if v.has("tick") {
		b.Wiring.Tick = v.time("tick")
	}
	r.encoders(b, v.sub("encoders"))
	r.receiver(b, v.sub("receiver"))
	for _, port := range v.list("serial") {
		r.port(b, port.table)
	}
	r.motorLines(b, v.sub("motors"))
	b.Board = boardLife(v.sub("board"))
	r.imperfect(b, v)
	b.Power = PowerLevel(max(slices.Index(powerWords, v.word("motors_powered")), 0))
	for _, x := range v.list("substituted") {
		b.Substituted = append(b.Substituted, x.word)
	}
	r.header(b, v)
	r.computer(b, v, host)
	if len(r.problems) > 0 {
		return nil, r.problems.sorted()
	}
	return b, nil
}

// The widths that a receiver pulse is clipped at where the file leaves them out.
const (
	leastWidth = 800 * signal.Microsecond
	mostWidth  = 2200 * signal.Microsecond
)

// channel reads one receiver channel; steer has no idle and full.
func (r *reader) channel(name string, v *values) wire.Pulse {
	if !v.has("rate") {
		return wire.Pulse{}
	}
	p := wire.Pulse{
		Frame: signal.FromSeconds(1 / v.number("rate")),
		Low:   v.time("idle"), High: v.time("full"), HighValue: 1,
		Least: v.time("least"), Most: v.time("most"),
	}
	least, most := p.Least, p.Most
	if least == 0 {
		least = leastWidth
	}
	if most == 0 {
		most = mostWidth
	}
	rate := v.get("rate")
	switch {
	case least >= most:
		r.problem(v.node, fmt.Sprintf("%s: no width lies between least %s and most %s", name, span(least), span(most)), "give a smaller least or a larger most")
	case most >= p.Frame:
		r.problem(rate.node, fmt.Sprintf("%s: pulses of up to %s do not fit frames of %s", name, span(most), span(p.Frame)), "give a lower rate or a smaller most")
	}
	for _, key := range []string{"idle", "full"} {
		if x := v.get(key); x != nil && (v.time(key) < least || v.time(key) > most) {
			r.problem(x.node, fmt.Sprintf("%s: %s %s would be clipped", name, key, x.node.text), fmt.Sprintf("pulses are %s to %s wide: move it, or give least and most", span(least), span(most)))
		}
	}
	if v.has("idle") && v.has("full") && p.Low == p.High {
		r.problem(v.get("full").node, fmt.Sprintf("%s: idle and full are the same width", name), "give two widths")
	}
	return p
}

// span writes a time as it would stand in a file.
func span(t signal.Time) string {
	switch {
	case t >= 10*60*signal.Second:
		return number(t, 60*signal.Second) + " min"
	case t >= 10*signal.Second:
		return number(t, signal.Second) + " s"
	}
	return Duration.Format(t.Seconds())
}

// number writes t in units of unit, to at most four digits.
func number(t, unit signal.Time) string {
	return strconv.FormatFloat(float64(t)/float64(unit), 'g', 4, 64)
}

func boardLife(v *values) BoardLife {
	l := BoardLife{Reset: "none", ReadyAfter: 3 * signal.Second}
	l.BetweenCases.For = signal.Second
	if v.has("reset") {
		l.Reset = v.word("reset")
	}
	if v.has("ready_after") {
		l.ReadyAfter = v.time("ready_after")
	}
	for _, x := range v.list("arm") {
		a := x.table
		l.Arm = append(l.Arm, Arming{Throttle: a.number("throttle"), Steer: a.number("steer"), Gain: a.number("gain"), For: a.time("for")})
	}
	between := v.sub("between_cases")
	l.BetweenCases.Throttle = between.number("throttle")
	l.BetweenCases.Steer = between.number("steer")
	l.BetweenCases.YawRate = between.number("yaw_rate")
	if between.has("for") {
		l.BetweenCases.For = between.time("for")
	}
	return l
}
