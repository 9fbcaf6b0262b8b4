// Package moment is a second built-in controller for the simulated bench, of another
// school than the first: it corrects the car's yaw by a moment about its vertical axis that all
// four motors share, left against right.
//
// A [Board] has one loop of fixed rate. In each turn it reads what its inputs have taken in,
// works out the commands and sends every motor one digital frame. It reads a receiver that sends
// on one inverted serial line, a yaw-rate sensor on another with a counter and a checksum in its
// frames, and four quadrature encoders whose counts it takes over a fixed window. [Thistle] has
// its constants; [WithFault] switches on one of its [Faults].
//
// # The law
//
// With the speed v, the mean of both rear wheels, and the steer angle d:
//
//	demand  r = v d / (Wheelbase + UndersteerGradient v^2), held within YawLimit
//	error   e = r - yaw rate
//	present w = fade(|d|, SteerNone, SteerFull) fade(|r|, DemandNone, DemandFull) fade(v, FadeFrom, FadeTo)
//	moment  m = gain w y (Proportional e + i), held within MomentLimit
//
// fade goes from 0 at the first bound to 1 at the second. The gain is 0, 1/2 or 1. y goes to 0 over
// YawFade when the yaw rate is lost, and back when it is there again. The memory i grows by
// Integral w e dt and is held within IntegralLimit; it is cleared below ClearBelow, at gain 0 and once y
// is 0; it is bled by BleedTime while the throttle is at idle or the steer angle or the demand has
// no part in w.
//
// The throttle is held to Cap first. To that the moment to the left adds FrontShare m on the right
// and takes it on the left in front, RearShare m behind; where a motor would pass Cap or Floor, all
// four shifts become smaller by the same factor. With the throttle at idle every motor has stop.
//
// # Its life
//
// After power-up it is silent until the car has stood still for StillFor with good yaw frames, whose
// mean is the sensor's offset: any edge of a wheel begins that time anew. It arms once the throttle has
// been at idle for ArmFor. A receiver that is lost, or says so in its flags, stops the motors
// until the throttle has been at idle again for as long. A wheel that disagrees with the others is left out.
//
// # Units and signs
//
// SI inside; yaw rate, steer angle and moment are positive to the left, as in ISO 8855. Commands are
// shares of range, 0..1.
//
// # Time
//
// signal.Time. What a board does depends on its settings, its seed and the edges alone, not on how its
// time is cut into calls of Run: of an edge and a timer at the same time, the timer comes first.
//
// # Sources
//
// The checksum of the yaw frames has polynomial 0x1021 and initial value 0xFFFF, neither reflected (CRC-16/IBM-3740
// in the catalogue of parametrised CRC algorithms; from memory). The receiver's frames and the
// motors' digital frames: common practice, no source. The generator of phases: Steele, Lea, Flood,
// "Fast splittable pseudorandom number generators", 2014; from memory.
//
// This package uses none of the rig's encoders, decoders or car model, and no code of the other board.
package moment

import (
	"fmt"
	"strings"

	"hilrig/rig/signal"
)

// never is a time that does not come.
const never = signal.Time(1<<63 - 1)

// Board is the controller. It is used by one goroutine.
type Board struct {
	s      Settings
	layout signal.Layout
	pins   pins
	draw   phases

	level    []bool // of each line, as it is on the board's pin
	nextLoop signal.Time
	held     []signal.Edge // of a restart, for the next Run

	receiver receiver
	gyro     gyro
	wheels   wheels
	life     life
	law      law
	frames   frames
	inTime   inTime
}

// New returns the controller, powered up at time 0, on the lines that the layout has for the
// encoders and motors of all wheels, and the serial lines that the settings name. seed draws the phases of
// its loop. A missing line and a constant out of range are errors.
func New(s Settings, layout signal.Layout, seed uint64) (*Board, error) {
	if err := s.check(); err != nil {
		return nil, err
	}
	b := &Board{s: s, layout: layout, draw: phases(seed), level: make([]bool, len(layout.Lines))}
	var err error
	if b.pins, err = newPins(&s, layout); err != nil {
		return nil, err
	}
	for i := range layout.Lines {
		b.level[i] = layout.Lines[i].Idle
	}
	b.powerUp(0)
	return b, nil
}

// Name returns "built-in/moment", with the seeded faults' names after a colon each.
func (b *Board) Name() string {
	var name strings.Builder
	name.WriteString("built-in/moment")
	for _, f := range faults {
		if b.s.has(f.bit) {
			name.WriteString(":" + f.Name)
		}
	}
	return name.String()
}

// Run takes the driven edges that were not handed over before, in order of time, and appends the
// board's own up to and including until. It allocates nothing where out has room. An edge of a
// line that the layout does not have, or that the board drives, is an error.
func (b *Board) Run(in []signal.Edge, until signal.Time, out []signal.Edge) ([]signal.Edge, error) {
	out = append(out, b.held...)
	b.held = b.held[:0]
	for i := range in {
		e := &in[i]
		if int(e.Line) >= len(b.level) || b.layout.Lines[e.Line].Direction != signal.Drive {
			return out, fmt.Errorf("%s: an edge of line %d, which the bench does not drive", b.Name(), e.Line)
		}
		out = b.runTo(e.At, out)
		b.edge(e)
	}
	return b.runTo(until, out), nil
}

// Restart is a power cycle: the levels on its input pins are all that the board knows
// afterwards, and its loop has a new phase. Motor lines that are high fall at that time.
func (b *Board) Restart(at signal.Time) error {
	b.held = b.runTo(at-1, b.held)
	for _, line := range b.pins.motor {
		if idle := b.layout.Lines[line].Idle; b.level[line] != idle {
			b.held = append(b.held, signal.Edge{At: at, Line: line, Level: idle})
			b.level[line] = idle
		}
	}
	b.powerUp(at)
	return nil
}

// Close ends the board. It never fails.
func (b *Board) Close() error { return nil }

// powerUp forgets all but levels and begins anew.
func (b *Board) powerUp(at signal.Time) {
	b.receiver = newReceiver(b.s.ReceiverInverted, b.level[b.pins.receiver])
	b.gyro = newGyro(b.s.YawBaud, b.level[b.pins.yaw])
	b.wheels = newWheels(&b.pins, b.level)
	b.life = life{since: at}
	b.law = law{present: 1}
	b.frames = frames{}
	b.inTime = inTime{}
	b.nextLoop = at + b.s.Boot + signal.Time(b.draw.below(uint64(b.loopPeriod())))
}

// loopPeriod returns the time from turn to turn of the loop.
func (b *Board) loopPeriod() signal.Time {
	if b.s.has(loopHalved) {
		return 2 * b.s.LoopPeriod
	}
	return b.s.LoopPeriod
}

// runTo does what is due up to and including t, in order of time.
func (b *Board) runTo(t signal.Time, out []signal.Edge) []signal.Edge {
	for {
		next := min(b.frames.due(), b.receiver.uart.next, b.gyro.uart.next, b.nextLoop)
		if next > t {
			return out
		}
		switch next {
		case b.frames.due():
			e := b.frames.pop()
			b.level[e.Line] = e.Level
			out = append(out, e)
		case b.receiver.uart.next:
			b.receiver.look(b.s.has(failsafeIgnored))
		case b.gyro.uart.next:
			b.gyro.look(b.s.has(crcUnchecked), b.s.has(counterIgnored))
		default:
			b.loop(next)
			b.nextLoop += b.loopPeriod()
		}
	}
}

// edge takes one edge of an input pin.
func (b *Board) edge(e *signal.Edge) {
	if b.level[e.Line] == e.Level {
		return
	}
	b.level[e.Line] = e.Level
	switch p := &b.pins.of[e.Line]; p.role {
	case receiverPin:
		b.receiver.uart.edge(e.At, e.Level)
	case yawPin:
		b.gyro.uart.edge(e.At, e.Level)
	case encoderPin:
		wheel := p.wheel
		if b.s.has(wheelsExchanged) {
			wheel ^= 1
		}
		b.wheels.edge(wheel, p.second, e.Level)
	}
}

// loop is one turn of the control loop.
func (b *Board) loop(at signal.Time) {
	b.wheels.window(at, &b.s)
	rc := b.receiver.read(at, &b.s)
	drive := b.life.step(at, &b.s, &b.gyro, &b.wheels, rc)
	b.wheels.moved = false
	if !b.life.sends {
		return
	}
	yaw, present := b.gyro.rate(at, &b.s)
	command := b.law.step(&b.s, b.loopPeriod(), inputs{
		speed: b.wheels.speed(&b.s), steer: rc.steer, throttle: rc.throttle, gain: rc.gain,
		yaw: yaw, yawPresent: present, drive: drive,
	})
	b.frames.send(at+b.s.Compute, &b.s, b.pins.motor, b.inTime.sent(at, &b.s, drive, command))
}
