package board

import (
	"cmp"
	"fmt"
	"slices"

	"hilrig/rig/signal"
)

// Kind is one of the boards that control nothing. A suite that such a board
// passes tests nothing.
type Kind string

// The kinds of null board.
const (
	SilentBoard    Kind = "silent"          // never sends a pulse
	ConstantIdle   Kind = "constant_idle"   // idle pulses, whatever happens
	EqualTorque    Kind = "equal_torque"    // passes the throttle pulse on to all four motors
	RandomCommands Kind = "random_commands" // draws new commands for each frame
)

// Kinds lists the kinds of null board.
var Kinds = []Kind{SilentBoard, ConstantIdle, EqualTorque, RandomCommands}

// Pulses are the widths that a board which controls nothing has to know of its
// bench. The zero value stands for 1000 us idle and 2000 us full throughout.
type Pulses struct {
	ThrottleIdle, ThrottleFull signal.Time
	MotorIdle, MotorFull       signal.Time
	BothWays                   bool // commands may go below idle
	Output                     Output
	Period                     signal.Time // of the commands; 0 means 3 ms
	Bus                        BusInput    // where it has a line, the throttle comes on it
}

func (p Pulses) withDefaults() Pulses {
	const idle, full = 1000 * signal.Microsecond, 2000 * signal.Microsecond
	p.ThrottleIdle, p.ThrottleFull = cmp.Or(p.ThrottleIdle, idle), cmp.Or(p.ThrottleFull, full)
	p.MotorIdle, p.MotorFull = cmp.Or(p.MotorIdle, idle), cmp.Or(p.MotorFull, full)
	p.Period = cmp.Or(p.Period, 3*signal.Millisecond)
	return p
}

// null is a board that controls nothing.
type null struct {
	kind         Kind
	pulses       Pulses
	random       random
	throttleLine signal.Line
	throttle     pulseInput
	others       pulseInput // what else a bus carries
	bus          serialInput
	channels     busParser
	sender       sender
	pulser       pulser
	resting      []signal.Edge
}

// NewNull returns a board that controls nothing, powered up at time 0, on the
// lines throttle, or the receiver's bus, and motor_front_left and so on. seed draws the phase of its
// timer and its random commands. An unknown kind, a missing line and a throttle
// without range are errors.
func NewNull(kind Kind, p Pulses, layout signal.Layout, seed uint64) (Board, error) {
	if !slices.Contains(Kinds, kind) {
		return nil, fmt.Errorf("null board %q is unknown; use one of %q", kind, Kinds)
	}
	p = p.withDefaults()
	if p.ThrottleIdle == p.ThrottleFull {
		return nil, fmt.Errorf("null board: throttle idle and full are both %v; declare two widths", p.ThrottleIdle)
	}
	n := &null{kind: kind, pulses: p, random: random(seed)}
	find := finder{layout: layout, board: string(kind)}
	if err := p.Bus.check(); err != nil {
		return nil, err
	}
	line, idle := find.line(cmp.Or(p.Bus.Line, "throttle"), signal.Drive)
	n.throttleLine = line
	n.throttle = pulseInput{idle: idle, least: 800, most: 2200}
	n.bus = serialInput{baud: busBaud, mark: idle, even: true, level: idle}
	n.channels = busParser{cfg: p.Bus, steer: &n.others, throttle: &n.throttle, gain: &n.others}
	if err := p.Output.check(); err != nil {
		return nil, err
	}
	if longest := p.Output.longest(p.MotorIdle, p.MotorFull); longest+10*signal.Microsecond > p.Period {
		return nil, fmt.Errorf("null board: commands of %v every %v; give a longer period", longest, p.Period)
	}
	n.sender = sender{output: p.Output, idle: p.MotorIdle, full: p.MotorFull}
	n.pulser = newPulser(&find, p.Period)
	n.powerUp(0)
	return n, find.err
}

func (n *null) powerUp(at signal.Time) {
	n.throttle.restart()
	n.bus.restart()
	n.channels.restart()
	n.pulser.frameAt = at + n.random.phase(n.pulser.period)
}

// Name implements [Board].
func (n *null) Name() string { return string(n.kind) }

// Run implements [Board].
func (n *null) Run(in []signal.Edge, until signal.Time, out []signal.Edge) ([]signal.Edge, error) {
	out = append(out, n.resting...)
	n.resting = n.resting[:0]
	for _, e := range in {
		if e.Line != n.throttleLine {
			continue
		}
		out = n.timer(e.At-1, out)
		if n.pulses.Bus.Line == "" {
			n.throttle.edge(e.Level, e.At)
		} else {
			n.bus.edge(e.Level, e.At, &n.channels)
		}
	}
	return n.timer(until, out), nil
}

// timer plays what is due up to and including until.
func (n *null) timer(until signal.Time, out []signal.Edge) []signal.Edge {
	for n.pulser.due() <= until {
		now := n.pulser.due()
		out = n.pulser.advance(now, clock{}, out)
		if now == n.pulser.frameAt {
			if n.kind != SilentBoard {
				n.pulser.frame(n.sender.waves(n.commands(now)))
			}
			n.pulser.frameAt += n.pulser.period
			out = n.pulser.advance(now, clock{}, out)
		}
	}
	return out
}

// commands returns those of a frame that begins now.
func (n *null) commands(now signal.Time) (commands [4]float64) {
	for m := range commands {
		switch {
		case n.kind == RandomCommands:
			commands[m] = float64(n.random.next()%1001) / 1000
		case n.kind == EqualTorque && n.throttle.fresh(now, 100*signal.Millisecond):
			commands[m] = n.share()
		}
	}
	return commands
}

// share returns what the throttle pulse stands for.
func (n *null) share() float64 {
	p := &n.pulses
	off := signal.Time(n.throttle.width)*signal.Microsecond - p.ThrottleIdle
	least := 0.0
	if p.BothWays {
		least = -1
	}
	return min(max(float64(off)/float64(p.ThrottleFull-p.ThrottleIdle), least), 1)
}

// Restart implements [Board].
func (n *null) Restart(at signal.Time) error {
	n.resting = n.pulser.drop(at, n.resting)
	n.powerUp(at)
	return nil
}

// Close implements [Board].
func (n *null) Close() error { return nil }
