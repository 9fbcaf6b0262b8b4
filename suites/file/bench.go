package file

import (
	"cmp"
	"fmt"
	"slices"
	"strconv"

	"hilrig/rig/interlock"
	"hilrig/rig/raspberry/pinout"
	"hilrig/rig/signal"
	"hilrig/stimulus/wire"
	"hilrig/suites/language"
)

// ParseBench reads a bench file. The error is of type [language.Problems]. Numbers are
// SI. What the steering pulse stands for is the car's matter: see [Complete].
func ParseBench(s language.Source) (*Bench, error) { return ParseBenchOn(s, pinout.NoPi) }

// ParseBenchOn is ParseBench on a computer: a real bench whose file names none keeps
// to the limits of that one, if it is a Pi that a bench can stand on.
func ParseBenchOn(s language.Source, host pinout.Model) (*Bench, error) {
	r := newReader(s)
	top := r.Tree("bench", kinds...)
	if top == nil {
		return nil, r.Problems.Sorted()
	}
	v := r.Read(top, BenchTable)
	b := &Bench{Source: s, Name: v.Word("bench"), Kind: v.WordOr("kind", benchKinds[0]), ports: map[string]language.Place{}}
	b.Wiring.Tick = v.TimeOr("tick", signal.Millisecond)
	r.encoders(b, v.Sub("encoders"))
	r.receiver(b, v.Sub("receiver"))
	for _, port := range v.List("serial") {
		r.port(b, port.Mapping)
	}
	r.motorLines(b, v.Sub("motors"))
	b.Board = boardLife(v.Sub("board"))
	r.timingModel(b, v)
	b.Power = interlock.Power(max(slices.Index(powerWords, v.Word("motors_powered")), 0))
	for _, x := range v.List("substituted") {
		b.Substituted = append(b.Substituted, x.Word)
	}
	r.pins(b, v)
	r.computer(b, v, host)
	if len(r.Problems) > 0 {
		return nil, r.Problems.Sorted()
	}
	return b, nil
}

// The widths that a receiver pulse is clipped at where the file leaves them out.
const (
	leastWidth = 800 * signal.Microsecond
	mostWidth  = 2200 * signal.Microsecond
)

// channel reads the frames of one receiver channel, and the widths that its pulses are
// clipped at.
func (r *reader) channel(name string, v *language.Mapping) wire.Pulse {
	if !v.Has("rate") {
		return wire.Pulse{}
	}
	p := wire.Pulse{
		Frame:     signal.FromSeconds(1 / v.Number("rate")),
		HighValue: 1,
		Least:     v.Time("least"), Most: v.Time("most"),
	}
	rate := v.Get("rate")
	switch least, most := clips(p); {
	case least >= most:
		r.Report(v.Node, fmt.Sprintf("%s: no width lies between least %s and most %s", name, span(least), span(most)), "give a smaller least or a larger most")
	case most >= p.Frame:
		r.Report(rate.Node, fmt.Sprintf("%s: pulses of up to %s do not fit frames of %s", name, span(most), span(p.Frame)), "give a lower rate or a smaller most")
	}
	return p
}

// trim reads a receiver channel whose pulses go from idle to full.
func (r *reader) trim(name string, v *language.Mapping) wire.Pulse {
	p := r.channel(name, v)
	if p.Frame == 0 {
		return p
	}
	p.Low, p.High = v.Time("idle"), v.Time("full")
	least, most := clips(p)
	for _, key := range []string{"idle", "full"} {
		if x := v.Get(key); x != nil && (v.Time(key) < least || v.Time(key) > most) {
			r.Report(x.Node, fmt.Sprintf("%s: %s %s would be clipped", name, key, x.Node.Text), fmt.Sprintf("pulses are %s to %s wide: move it, or give least and most", span(least), span(most)))
		}
	}
	if v.Has("idle") && v.Has("full") && p.Low == p.High {
		r.Report(v.Get("full").Node, fmt.Sprintf("%s: idle and full are the same width", name), "give two widths")
	}
	return p
}

// clips returns the widths that a channel's pulses are clipped at.
func clips(p wire.Pulse) (least, most signal.Time) {
	return cmp.Or(p.Least, leastWidth), cmp.Or(p.Most, mostWidth)
}

// span writes a time as it would stand in a file.
func span(t signal.Time) string {
	switch {
	case t >= 10*60*signal.Second:
		return number(t, 60*signal.Second) + " min"
	case t >= 10*signal.Second:
		return number(t, signal.Second) + " s"
	}
	return language.Duration.Format(t.Seconds())
}

// number writes t in units of unit, to at most four digits.
func number(t, unit signal.Time) string {
	return strconv.FormatFloat(float64(t)/float64(unit), 'g', 4, 64)
}

func boardLife(v *language.Mapping) BoardLife {
	l := BoardLife{Reset: v.WordOr("reset", "none"), ReadyAfter: v.TimeOr("ready_after", 3*signal.Second)}
	for _, x := range v.List("arm") {
		a := x.Mapping
		l.Arm = append(l.Arm, Arming{Throttle: a.Number("throttle"), Steer: a.Number("steer"), Gain: a.Number("gain"), For: a.Time("for")})
	}
	between := v.Sub("between_cases")
	l.BetweenCases.Throttle = between.Number("throttle")
	l.BetweenCases.Steer = between.Number("steer")
	l.BetweenCases.YawRate = between.Number("yaw_rate")
	l.BetweenCases.For = between.TimeOr("for", signal.Second)
	return l
}
