package board

import (
	"fmt"

	"hilrig/rig/signal"
)

// BuiltIn is the built-in controller.
type BuiltIn struct {
	settings    Settings
	name        string
	clock       clock
	random      random
	radPerCount [4]float64
	pins        []pin // by line
	branches

	encoders              [4]encoder
	angles                [4]angleInput // of angle sensors
	bus                   serialInput   // of the receiver's bus
	channels              busParser
	steer, throttle, gain pulseInput
	serial                serialInput
	parser                parser      // of the yaw rate
	demoParser            frameParser // of the demo car's frames
	yaw                   yawSensor
	failsafe              failsafe
	filtered              float64    // rad/s, seeded fault slow_filter
	command               [4]float64 // shares of range, by the control loop
	grown                 grown
	afterBraking          signal.Time // for how long still it shifts nothing
	places                places
	inTime                inTime
	inFrames              inFrames
	shaper                shaper
	derivative            derivative
	sender                sender
	pulser                pulser

	loopAt            signal.Time // the next turn of the control loop
	turning           turning
	receiver, yawTask slower
	next              signal.Time // the next event of any timer
	resting           []signal.Edge
}

// branches are whom the two branches of the split move.
type branches struct {
	understeer, oversteer branch
}

// pin says which unit listens to a line.
type pin struct {
	unit  unit
	wheel uint8
	bit   uint8
}

type unit uint8

const (
	noUnit unit = iota
	encoderUnit
	tachoUnit
	dutyUnit
	busUnit
	steerUnit
	throttleUnit
	gainUnit
	serialUnit
)

// NewBuiltIn returns the built-in controller, powered up at time 0, on the
// lines that layout names: steer, throttle, gain, front_left_a and so on,
// yaw_serial, motor_front_left and so on. seed draws the phases of its timers. A
// missing line and a constant out of range are errors.
func NewBuiltIn(s Settings, layout signal.Layout, seed uint64) (*BuiltIn, error) {
	if err := s.check(); err != nil {
		return nil, err
	}
	b := &BuiltIn{
		settings:    s,
		name:        "built-in",
		clock:       clock{int64(s.ClockError)},
		random:      random(seed),
		radPerCount: s.radPerCount(),
		resting:     make([]signal.Edge, 0, 4),
	}
	if s.named != "" {
		b.name += ":" + s.named
	}
	b.understeer, b.oversteer = newBranch(s.Understeer), newBranch(s.Oversteer)
	if b.has(oversteerPair) {
		b.oversteer = b.oversteer.frontRearExchanged()
	}
	b.seedOutputs()
	if err := b.wire(layout); err != nil {
		return nil, err
	}
	b.powerUp(0)
	return b, nil
}

// wire finds the lines and sets up the units behind them.
func (b *BuiltIn) wire(layout signal.Layout) error {
	s := &b.settings
	find := finder{layout: layout, board: b.name}
	b.pins = make([]pin, len(layout.Lines))
	idle := func(name string, p pin) bool {
		line, idle := find.line(name, signal.Drive)
		if find.err == nil {
			b.pins[line] = p
		}
		return idle
	}
	least, most := int64(s.PulseLeast/signal.Microsecond), int64(s.PulseMost/signal.Microsecond)
	b.steer = pulseInput{least: least, most: most}
	b.throttle, b.gain = b.steer, b.steer
	if b.has(shortPulseBelieved) {
		b.steer.least = 0
	}
	if s.Bus.Line == "" {
		b.steer.idle = idle("steer", pin{unit: steerUnit})
		b.throttle.idle = idle("throttle", pin{unit: throttleUnit})
		b.gain.idle = idle("gain", pin{unit: gainUnit})
	} else {
		mark := idle(s.Bus.Line, pin{unit: busUnit})
		b.bus = serialInput{baud: busBaud, mark: mark, even: true, level: mark}
		b.channels = busParser{cfg: s.Bus, steer: &b.steer, throttle: &b.throttle, gain: &b.gain}
		b.channels.keepsFlagged, b.channels.takesFlagged = s.FlagTimeout > 0, s.then(ReceiverFlag) == ThenIgnored
	}
	b.wireWheels(idle)
	b.wireYaw(idle)
	b.sender = sender{output: s.Output, idle: s.MotorIdle, full: s.MotorFull, coarse: b.has(coarseCommand)}
	b.pulser = newPulser(&find, s.OutputPeriod)
	if b.has(outputsStaggered) {
		room := s.OutputPeriod - s.Output.longest(s.MotorIdle, s.MotorFull)
		b.pulser.stagger = min(300*signal.Microsecond, (room-signal.Microsecond)/3)
	}
	return find.err
}

// wireYaw finds the line of the yaw-rate sensor.
func (b *BuiltIn) wireYaw(idle func(name string, p pin) bool) {
	s := &b.settings
	line, unit := "yaw_serial", radPerDegree/16
	if s.YawFrame.Line != "" {
		line = s.YawFrame.Line
	}
	mark := idle(line, pin{unit: serialUnit})
	b.serial = serialInput{baud: int64(s.Baud), mark: mark, level: mark, even: s.YawFrame.Even || s.YawFrame.OddParity, not: s.YawFrame.OddParity}
	b.demoParser = frameParser{yaw: &b.yaw, unchecked: b.has(checksumUnchecked)}
	b.parser = &b.demoParser
	if s.YawFrame.general() {
		unit = yawUnit
		format := s.YawFrame
		if b.has(checksumUnchecked) {
			format.Checks = nil
		}
		b.parser = &yawParser{format: &format, yaw: &b.yaw, pause: 20 * signal.Second / signal.Time(s.Baud)}
	}
	b.yaw = yawSensor{
		jump:     int32(float64(s.YawJump/unit) + 0.5),
		agree:    int32(float64(s.YawAgree/unit) + 0.5),
		believes: b.has(spikeBelieved),
		apart:    s.YawTimeout,
	}
}

// powerUp starts everything anew, at the given time of the board's clock.
func (b *BuiltIn) powerUp(at signal.Time) {
	for i := range b.encoders {
		b.encoders[i].restart(at)
		b.angles[i].restart(at)
	}
	b.bus.restart()
	b.channels.powerUp()
	b.steer.restart()
	b.throttle.restart()
	b.gain.restart()
	b.serial.restart()
	b.parser.restart()
	b.yaw.restart()
	b.failsafe = failsafe{}
	b.filtered = 0
	b.command = [4]float64{}
	b.grown = grown{}
	b.afterBraking = 0
	b.places = places{}
	b.inTime = inTime{powered: at}
	b.inFrames = inFrames{}
	b.shaper, b.derivative = shaper{}, derivative{}
	b.loopAt = at + b.random.phase(b.settings.LoopPeriod)
	b.turning, b.receiver, b.yawTask = turning{planned: b.loopAt}, slower{}, slower{}
	b.pulser.frameAt = at + b.random.phase(b.settings.OutputPeriod)
	if b.settings.Shaping.FramePerLoop {
		b.pulser.frameAt = never
	}
	b.next = min(b.loopAt, b.pulser.due())
}

// Name returns "built-in", with the seeded fault's name after a colon.
func (b *BuiltIn) Name() string { return b.name }

// Run implements [Board]. It allocates nothing where out has room. An edge of a
// line that the layout does not have is an error.
func (b *BuiltIn) Run(in []signal.Edge, until signal.Time, out []signal.Edge) ([]signal.Edge, error) {
	if len(b.resting) > 0 {
		out = append(out, b.resting...)
		b.resting = b.resting[:0]
	}
	for i := range in {
		e := &in[i]
		at := b.clock.local(e.At)
		if at > b.next {
			out = b.timers(at-1, out)
		}
		if int(e.Line) >= len(b.pins) {
			return out, fmt.Errorf("board %s: edge at %v on line %d, which the layout does not have", b.name, e.At, e.Line)
		}
		switch p := &b.pins[e.Line]; p.unit {
		case encoderUnit:
			b.encoders[p.wheel&3].edge(p.bit, e.Level, at)
		case tachoUnit:
			b.encoders[p.wheel&3].pulse(at)
		case dutyUnit:
			b.angles[p.wheel&3].edge(e.Level, at, b.settings.duty(int(p.wheel&3)), &b.encoders[p.wheel&3])
		case busUnit:
			b.bus.edge(e.Level, at, &b.channels)
		case steerUnit:
			b.steer.edge(e.Level, at)
		case throttleUnit:
			b.throttle.edge(e.Level, at)
		case gainUnit:
			b.gain.edge(e.Level, at)
		case serialUnit:
			b.serial.edge(e.Level, at, b.parser)
		}
	}
	return b.timers(b.clock.local(until), out), nil
}

// timers runs what is due up to and including until, a time of the board's clock.
func (b *BuiltIn) timers(until signal.Time, out []signal.Edge) []signal.Edge {
	for b.next <= until {
		now := b.next
		if now == b.loopAt {
			if b.resets(now) {
				b.powerUp(now + bootsFor)
				continue
			}
			b.control(now)
			b.turned(now)
			if b.settings.Shaping.FramePerLoop {
				b.pulser.frameAt = now
			}
		}
		out = b.pulser.advance(now, b.clock, out)
		if now == b.pulser.frameAt {
			if !b.silent() && !b.paused(now) {
				b.pulser.frame(b.shaper.thin(&b.settings.Shaping, b.sender.waves(b.sent(now))))
			}
			b.pulser.frameAt = b.nextFrame(now)
			out = b.pulser.advance(now, b.clock, out)
		}
		b.next = min(b.loopAt, b.pulser.due())
	}
	return out
}

// turned plans what follows a turn of the loop.
func (b *BuiltIn) turned(now signal.Time) {
	s := &b.settings
	if s.Timing.Turned != nil {
		s.Timing.Turned(b.clock.bench(now))
	}
	period := s.LoopPeriod
	if b.has(slowLoop) || b.has(slowLoopFast) && b.places.speed > 6 {
		period *= 2
	}
	b.loopAt = b.turning.after(s, period, &b.random)
}

// nextFrame returns when the frame after one that begins now does, as far as that is known.
func (b *BuiltIn) nextFrame(now signal.Time) signal.Time {
	if b.settings.Shaping.FramePerLoop {
		return never
	}
	return now + b.pulser.period
}

// Restart implements [Board]: the levels on its input pins are all that it
// knows afterwards, and its timers have new phases.
func (b *BuiltIn) Restart(at signal.Time) error {
	b.resting = b.pulser.drop(at, b.resting)
	b.powerUp(b.clock.local(at))
	return nil
}

// Close implements [Board].
func (b *BuiltIn) Close() error { return nil }
