package esc

import (
	"fmt"
	"math"
	"slices"
	"strings"

	"periph.io/x/conn/v3/i2c"

	"hilrig/plant/portable"
	"hilrig/rig"
	"hilrig/rig/board"
	i2creader "hilrig/rig/raspberry/i2c"
	"hilrig/rig/signal"
	"hilrig/rig/simulated"
	"hilrig/rig/stand"
	"hilrig/suites/file"
)

// openSimulated opens the bench in virtual time.
func openSimulated(layout signal.Layout, b board.Board) (rig.Bench, error) {
	bench, err := simulated.New(simulated.Settings{Layout: layout, Board: b})
	if err != nil {
		return nil, err
	}
	return bench, nil
}

// Controllers lists the names of the controllers of the simulated stand.
func Controllers() []string { return stand.ESCs() }

// controller returns the setup's controller.
func (s *Setup) controller() (stand.ESC, error) {
	name := s.ESC
	if name == "" {
		name = linearESC
	}
	esc, ok := stand.ESCNamed(name)
	if !ok {
		return esc, fmt.Errorf("controller %q is not known; use one of %s", name, strings.Join(stand.ESCs(), ", "))
	}
	esc.Brakes = s.Stand.SpinUp != nil && s.Stand.SpinUp.Coast == file.Brakes
	return esc, nil
}

// StandSettings returns what the simulated stand is made of for a held condition of the file: what the file says of
// encoder, load cell, telemetry, supply and inertia, and the demo stand's motor. What the file gives with a
// tolerance lies somewhere within it, as the seed draws.
func (s *Setup) StandSettings(h *file.HeldCondition) stand.Settings {
	f := s.Stand
	out := stand.Demo()
	draw := portable.NewNoise(s.Seed, "simulated stand")
	within := func(t file.Toleranced) float64 { return t.Value + float64(t.Tolerance*(2*draw.Float64()-1)) }
	out.Layout, out.Seed = f.Layout(), draw.Uint64()
	m := &f.Throttle.Motor
	out.Throttle = stand.Throttle{Format: stand.Format(slices.Index(standFormats[:], m.Kind.String())), Inverted: m.Inverted()}
	if m.Kind.Digital() {
		out.Throttle.TwoDirection, out.Throttle.ForwardLower, out.Throttle.StopIsIdle = m.DShot.TwoDirection, m.DShot.ForwardLower, m.DShot.StopIsIdle
	} else {
		p := m.Pulse()
		out.Throttle.Idle, out.Throttle.Full, out.Throttle.WithNeutral = p.Idle, p.Full, m.Lowest() < 0
	}
	if x := f.Supply.Voltage; x != nil {
		out.Pack.Voltage = *x
	}
	if x := f.Supply.Sag; x != nil {
		out.Pack.Resistance = *x
	}
	if x := f.Supply.CurrentLimit; x != nil {
		out.Pack.CurrentLimit = *x
	}
	if u := f.SpinUp; u != nil {
		if u.Inertia != nil {
			out.Load.Inertia = within(*u.Inertia)
		}
		lines := max(u.Encoder.Lines, u.Encoder.Pulses)
		out.Encoder.Lines, out.Encoder.Pulses = u.Encoder.Lines, u.Encoder.Pulses
		// A quarter of what the file allows goes once round with the shaft, the rest from line to line.
		out.Encoder.Eccentricity = min(u.Encoder.LineError/4, 0.01)
		out.Encoder.LineError = min(0.75*u.Encoder.LineError/math.Sqrt(3)/(2*math.Pi/float64(lines)), 0.1)
		out.Encoder.Backwards = u.Encoder.Reverse
		out.Motor.Viscous = vanes
		if u.Coast == file.Unplugged {
			for i := range handCoasts {
				out.Load.Hand = append(out.Load.Hand, f.Fastest()*(1.2+0.3*float64(i)))
			}
		}
	}
	if c := f.LoadCell; c != nil {
		out.Cell.Arm = within(c.Arm)
		out.Cell.Scale = math.Abs(c.Span[1].Counts-c.Span[0].Counts) / math.Abs(c.Span[1].Mass-c.Span[0].Mass) / gravity
		if c.Clocks == 27 {
			out.Cell.Scale *= 2 // a count of 27 clocks has half of the gain
		}
		if c.Reverse != ((c.Span[1].Counts < c.Span[0].Counts) != (c.Span[1].Mass < c.Span[0].Mass)) {
			out.Cell.Scale = -out.Cell.Scale
		}
		out.Cell.Offset, out.Cell.Rate = c.Zero, c.Rate
	}
	if t := f.Telemetry; t != nil {
		out.Motor.PolePairs = max(1, t.PolePairs)
		out.Telemetry.Phase, out.Telemetry.Baud = t.Current == file.PhaseCurrent, t.Baud
		if k := t.TorqueConstant; k != nil {
			out.Motor.TorqueConstant = within(*k)
		}
		if r := t.WindingResistance; r != nil {
			out.Motor.Resistance = within(*r)
		}
	}
	for i := range f.Bus {
		b := &f.Bus[i]
		out.Converter.Address = uint16(b.Address)
		if k := b.TorqueConstant; k != nil {
			out.Motor.TorqueConstant = within(*k)
		}
		if x := b.WindingResistance; x != nil {
			out.Motor.Resistance = within(*x)
		}
		r := stand.Register{Number: byte(b.Register), Scale: b.Scale, Signed: b.Signed}
		if b.Quantity == file.BusVoltage {
			out.Converter.Voltage = r
		} else {
			out.Converter.Current, out.Converter.Phase = r, b.Current == file.PhaseCurrent
		}
	}
	if x := f.Supply.SagAtFull; x != nil {
		// The resistance by which the current at full duty makes the pack fall by as much.
		if rest := out.Pack.Voltage - *x - float64(out.Motor.TorqueConstant*h.Speed); rest > 0 {
			out.Pack.Resistance = *x * out.Motor.Resistance / rest
		}
	}
	switch {
	case h.Kind == file.Locked:
		out.Held = stand.Held{Kind: stand.Locked}
	case h.Kind == file.AtSpeed && h.By == file.ByBrake:
		out.Held = stand.Held{Kind: stand.AtSpeed, Speed: h.Speed}
	}
	return out
}

// vanes is the viscous friction in N m s/rad of a disc with vanes, which comes to rest within seconds.
const vanes = 2e-4

// standFormats are the words of the throttle's formats in the order of the simulated stand's.
var standFormats = [...]string{"servo_pulse", "oneshot125", "dshot150", "dshot300", "dshot600"}

// simulatedOne is a simulated stand.
type simulatedOne struct{ board *stand.Stand }

func (s *Setup) simulatedStand(layout signal.Layout, h *file.HeldCondition) (*simulatedOne, error) {
	esc, err := s.controller()
	if err != nil {
		return nil, err
	}
	b, err := stand.New(s.StandSettings(h), esc)
	if err != nil {
		return nil, fmt.Errorf("%s: what the file declares cannot be simulated: %w", s.Stand.Source.Path, err)
	}
	return &simulatedOne{b}, nil
}

// reader returns what reads the simulated stand's converter, nil where the file has none.
func (o *simulatedOne) reader(s *file.Stand) BusReader {
	if len(s.Bus) == 0 {
		return nil
	}
	v := &virtualBus{bus: o.board.I2C()}
	for i := range s.Bus {
		b := &s.Bus[i]
		v.registers = append(v.registers, registerOf(b))
		v.every = append(v.every, signal.FromSeconds(1/max(b.Rate, 0.1)))
	}
	v.due = make([]signal.Time, len(v.registers))
	v.same, v.raw = make([]int, len(v.registers)), make([]int64, len(v.registers))
	return v
}

// registerOf returns the register of the simulated converter that stands for one that a stand file declares: of 16
// bits, the upper byte first, its value 0 at count 0, whatever width, order, shift and offset the file's own has.
func registerOf(b *file.BusSensor) i2creader.Register {
	r := i2creader.Register{Address: uint16(b.Address), Number: uint8(b.Register), Width: 2, Signed: b.Signed, Scale: b.Scale}
	if b.Quantity == file.BusVoltage {
		r.Quantity = i2creader.Voltage
	}
	return r
}

// virtualBus reads the simulated stand's converter when its time has come, in virtual time.
type virtualBus struct {
	bus       i2c.Bus
	registers []i2creader.Register
	every     []signal.Time
	due       []signal.Time
	raw       []int64
	same      []int
	now       func() signal.Time
}

// AppendNew reads what is due.
func (v *virtualBus) AppendNew(dst []BusReading) []BusReading {
	now := v.now()
	for i := range v.registers {
		if now < v.due[i] {
			continue
		}
		v.due[i] = (now/v.every[i] + 1) * v.every[i]
		r := &v.registers[i]
		raw, err := r.Read(v.bus)
		if err == nil && raw == v.raw[i] {
			v.same[i]++
		} else {
			v.same[i] = 0
		}
		v.raw[i] = raw
		one := BusReading{Sensor: i, Same: v.same[i], Err: err}
		if err == nil {
			one.Value, one.AtItsEnd = r.Value(raw), r.AtItsEnd(raw)
		}
		dst = append(dst, one)
	}
	return dst
}

// Close does nothing: the stand is closed with its bench.
func (*virtualBus) Close() {}
