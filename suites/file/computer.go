package file

import (
	"fmt"
	"math"
	"slices"
	"strings"

	"hilrig/rig/decode"
	"hilrig/rig/raspberry/pinout"
	"hilrig/rig/signal"
	"hilrig/stimulus/wire"
	"hilrig/suites/language"
)

// computerWords are the computers that a bench can say it stands on.
var computerWords = modelsWith(func(pinout.Limits) bool { return true })

// computer settles which computer's limits the bench keeps to, and holds the motor
// commands' format against them. host is the computer that the program runs on.
func (r *reader) computer(b *Bench, v *language.Mapping, host pinout.Model) {
	if word := v.Word("computer"); word != "" {
		b.Computer = pinout.Models[slices.Index(computerWords, word)]
	} else if b.Kind == "raspberry" && slices.Contains(pinout.Models, host) {
		b.Computer = host
	}
	r.sends(b, v)
	limits, on := b.Limits()
	kind := v.Sub("motors").Get("kind")
	if limits == nil || kind == nil {
		return
	}
	k := b.Wiring.Motors[0].Kind
	switch fit, why := b.Fit(limits); fit {
	case pinout.No:
		r.Report(kind.Node, fmt.Sprintf("motors: %s cannot be captured on %s: %s", k, on, why), otherwise(limits, k))
	case pinout.Marginal:
		b.notes = append(b.notes, r.Source.Shown(language.Problem{Place: r.PlaceOf(kind.Node), Value: kind.Node.Text, Level: language.Warning,
			Message: fmt.Sprintf("motors: %s is captured marginally on %s: %s", k, on, why), Remedy: otherwise(limits, k)}))
	}
}

// sends reports a serial port on a pin on which the computer has none: a Pi 3 sends on
// one alone (raspberrypi/documentation, uart.adoc).
func (r *reader) sends(b *Bench, v *language.Mapping) {
	if b.Computer != pinout.Pi3 {
		return
	}
	for _, p := range portsOf(v) {
		if x := p.Get("pin"); x != nil && x.Whole != consolePin && !pinout.OnAdapter(p.Word("device")) {
			r.Report(x.Node, fmt.Sprintf("port %s is on GPIO%d, on which a %v does not send", p.Word("port"), x.Whole, b.Computer), "use GPIO14, or a USB adapter for a second port")
		}
	}
}

// Limits returns what the bench's computer can play and capture, and the computer's
// name with its article, "a Pi 5". A real bench whose computer is not known has the limits of
// the most able one. nil: a simulated bench without a computer has none.
func (b *Bench) Limits() (l *pinout.Limits, on string) {
	switch {
	case b.Computer != pinout.NoPi:
		limits := b.Computer.Limits()
		return &limits, "a " + b.Computer.String()
	case b.Kind == "raspberry":
		limits := pinout.Widest()
		return &limits, "the most able Pi"
	}
	return nil, ""
}

// Fit says how well a computer of such limits captures the motor commands, and where not well, why: the line that it captures
// worst.
func (b *Bench) Fit(l *pinout.Limits) (fit pinout.Support, why string) {
	worst := &b.Wiring.Motors[0]
	for i := range b.Wiring.Motors {
		m := &b.Wiring.Motors[i]
		if leastRead(m) < leastRead(worst) {
			worst = m
		}
	}
	return l.Fit(worst)
}

// leastRead is the least share of frames of a line that a loop on registers reads.
func leastRead(m *decode.Motor) float64 {
	least, _ := pinout.FramesRead(m.Kind, m.DShot.Tolerance)
	return least
}

// LintBench returns what is odd about a bench that can be played.
func LintBench(b *Bench) language.Warnings { return slices.Concat(b.notes, b.odd) }

// otherwise says what would do in place of a format that does not fit well.
func otherwise(l *pinout.Limits, k decode.MotorKind) string {
	var formats []string
	for other, fit := range l.Motors {
		if fit == pinout.Yes {
			formats = append(formats, decode.MotorKind(other).String())
		}
	}
	var ways []string
	if len(formats) > 0 {
		ways = append(ways, "have the board send "+language.Or(formats))
	}
	if models := modelsWith(func(l pinout.Limits) bool { return l.Motors[k] == pinout.Yes }); models != nil {
		ways = append(ways, "use a "+language.Or(models))
	}
	return strings.Join(ways, ", or ")
}

// modelsWith lists the computers whose limits suit.
func modelsWith(suit func(pinout.Limits) bool) (names []string) {
	for _, m := range pinout.Models {
		if suit(m.Limits()) {
			names = append(names, m.String())
		}
	}
	return names
}

// pace reports a suite whose wheels give more edges, all together, than the bench's
// computer can play: once, at the step that gives most. What a closed loop does is not
// known beforehand.
func (p *suiteChecker) pace() {
	limits, on := p.bench.Limits()
	if limits == nil || p.car == nil {
		return
	}
	most, worst := p.fastest()
	if worst == nil || most <= limits.Edges {
		return
	}
	remedy := "play a lower speed"
	if first := &p.bench.Wiring.Encoders[0]; first.Kind != wire.DutyWheel {
		remedy += ", or declare " + fewer(first)
	}
	if models := modelsWith(func(l pinout.Limits) bool { return l.Edges >= most }); models != nil {
		remedy += ", or use a " + language.Or(models)
	}
	p.at(worst.Place, language.Mistake, fmt.Sprintf("the wheels give up to %s edges a second, and %s plays %s", signal.Digits(most, 3), on, signal.Digits(limits.Edges, 3)), remedy)
}

// MostEdges returns how many edges a second the four wheel sensors of bench give
// together, at most, while the suite is played with that car. What a closed loop does
// is left out: it is not known beforehand.
func MostEdges(s *Suite, car *Car, bench *Bench) float64 {
	p := &suiteChecker{suite: s, car: car, bench: bench}
	most, _ := p.fastest()
	return most
}

// fastest returns the step whose wheels give most edges, and how many a second; nil
// where none gives any.
func (p *suiteChecker) fastest() (most float64, worst *Step) {
	for i := range p.suite.Cases {
		c := &p.suite.Cases[i]
		for j := range c.Steps {
			if rate := p.allEdges(&c.Steps[j]); !c.Closed && rate > most {
				most, worst = rate, &c.Steps[j]
			}
		}
	}
	return most, worst
}

// allEdges returns how many edges a second the four wheels give in a step, at most.
func (p *suiteChecker) allEdges(s *Step) float64 {
	sum := 0.0
	for w := range p.bench.Wiring.Encoders {
		low, high := p.wheel(s, w)
		sum += p.bench.Wiring.Encoders[w].EdgeRate(max(-low, high))
	}
	return sum
}

// Turns returns how many turns a second of all wheels together make the wheel sensors give so
// many edges a second.
func (b *Bench) Turns(edges float64) float64 {
	turn := 0.0
	for _, e := range b.Wiring.Encoders {
		turn += e.EdgeRate(2*math.Pi) - e.EdgeRate(0)
	}
	return edges / turn
}
