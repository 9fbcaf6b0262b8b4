package stand

import (
	"cmp"
	"errors"
	"fmt"
	"math"

	"hilrig/rig/signal"
)

// widths are the widths of idle and full of each format of pulses.
var widths = [formats][2]signal.Time{
	ServoPulse: {1000 * signal.Microsecond, 2000 * signal.Microsecond},
	OneShot125: {125 * signal.Microsecond, 250 * signal.Microsecond},
}

// withDefaults fills in what is 0 and has a default.
func (s Settings) withDefaults() Settings {
	t := &s.Throttle
	if t.Format < formats && t.Idle == 0 && t.Full == 0 {
		t.Idle, t.Full = widths[t.Format][0], widths[t.Format][1]
		if t.WithNeutral {
			t.Idle = (t.Idle + t.Full) / 2
		}
	}
	s.Telemetry.Baud = cmp.Or(s.Telemetry.Baud, 115200)
	s.Telemetry.Period = cmp.Or(s.Telemetry.Period, 20*signal.Millisecond)
	s.Converter.Period = cmp.Or(s.Converter.Period, 2*signal.Millisecond)
	s.Cell.Rate = cmp.Or(s.Cell.Rate, 10)
	return s
}

// bound is a number with the range in which it has to lie, ends included.
type bound struct {
	name        string
	value       float64
	least, most float64
}

func outOfRange(bounds []bound) error {
	for _, b := range bounds {
		if !(b.value >= b.least && b.value <= b.most) {
			return fmt.Errorf("%s is %g; it has to lie from %g to %g", b.name, b.value, b.least, b.most)
		}
	}
	return nil
}

// check returns what is wrong with s, whose defaults are filled in.
func (s *Settings) check() error {
	m, e, c := &s.Motor, &s.Encoder, &s.Cell
	err := outOfRange([]bound{
		{"Pack.Voltage", s.Pack.Voltage, 0.5, 100},
		{"Pack.Resistance", s.Pack.Resistance, 0, 10},
		{"Pack.CurrentLimit", s.Pack.CurrentLimit, 0, 1e4},
		{"Motor.Resistance", m.Resistance, 1e-3, 1e3},
		{"Motor.TorqueConstant", m.TorqueConstant, 1e-4, 10},
		{"Motor.Coulomb", m.Coulomb, 0, 100},
		{"Motor.Stiction", m.Stiction, m.Coulomb, 100},
		{"Motor.Viscous", m.Viscous, 0, 1},
		{"Motor.Cogging", m.Cogging, 0, 100},
		{"Motor.CoggingPeriods", float64(m.CoggingPeriods), 0, 1000},
		{"Motor.PolePairs", float64(m.PolePairs), 0, 100},
		{"Load.Inertia", s.Load.Inertia, 1e-8, 1e3},
		{"Encoder.Lines", float64(e.Lines), 0, 20_000},
		{"Encoder.Pulses", float64(e.Pulses), 0, 20_000},
		{"Encoder.LineError", e.LineError, 0, 0.1},
		{"Encoder.Eccentricity", e.Eccentricity, 0, 0.01},
		{"Cell.Arm", c.Arm, 0, 10},
		{"Cell.Noise", c.Noise, 0, 1e6},
		{"Cell.Rate", c.Rate, 1, 1000},
		{"Telemetry.Baud", float64(s.Telemetry.Baud), 9600, 1e6},
		{"Telemetry.Period in seconds", s.Telemetry.Period.Seconds(), max(0.002, 110/float64(s.Telemetry.Baud)), 10},
		{"Converter.Period in seconds", s.Converter.Period.Seconds(), 0.00025, 10},
	})
	switch {
	case err != nil:
		return err
	case m.Cogging > 0 && m.CoggingPeriods == 0:
		return errors.New("no Motor.CoggingPeriods for Motor.Cogging; give at least 1")
	// A step has to be short against the time constant of the winding with the disc.
	case s.Load.Inertia < 20*step.Seconds()*(m.Viscous+m.TorqueConstant*m.TorqueConstant/m.Resistance):
		return fmt.Errorf("Load.Inertia is %g kg m2, and the motor takes it to speed in less than %g s; take a larger disc", s.Load.Inertia, 20*step.Seconds())
	case m.Cogging*float64(m.CoggingPeriods)*step.Seconds()*step.Seconds() > 0.02*s.Load.Inertia:
		return fmt.Errorf("Load.Inertia is %g kg m2, too little for the cogging torque; take a larger disc or less cogging", s.Load.Inertia)
	case s.Held.Kind > Locked:
		return fmt.Errorf("Held.Kind is %d; use Free, AtSpeed or Locked", s.Held.Kind)
	case s.Held.Kind == AtSpeed && !(s.Held.Speed > 0 && s.Held.Speed <= mostSpeed):
		return fmt.Errorf("Held.Speed is %g rad/s; it has to lie above 0 and up to %g", s.Held.Speed, float64(mostSpeed))
	}
	for _, speed := range s.Load.Hand {
		if !(math.Abs(speed) > 0 && math.Abs(speed) <= mostSpeed) {
			return fmt.Errorf("Load.Hand has %g rad/s; speeds are other than 0 and up to %g", speed, float64(mostSpeed))
		}
	}
	if err := s.Throttle.check(); err != nil {
		return err
	}
	return s.checkLines()
}

// check returns what is wrong with t, whose defaults are filled in.
func (t *Throttle) check() error {
	switch {
	case t.Format >= formats:
		return fmt.Errorf("Throttle.Format is %d; it is not known", t.Format)
	case t.Format >= DShot150:
		return nil
	case t.Idle <= 0 || t.Full <= 0 || max(t.Idle, t.Full) > 20*signal.Millisecond || t.Idle == t.Full:
		return fmt.Errorf("the throttle has idle %v and full %v; give two different widths up to 0.02 s", t.Idle, t.Full)
	case t.WithNeutral && 2*t.Idle <= t.Full:
		return fmt.Errorf("the throttle has its middle at %v and full at %v, so that full backwards has no width", t.Idle, t.Full)
	}
	return nil
}

// checkLines returns what is wrong with the lines.
func (s *Settings) checkLines() error {
	has := func(role signal.Role) bool {
		_, ok := s.Layout.Find(role, signal.NoWheel)
		return ok
	}
	throttle, ok := s.Layout.Find(signal.ThrottleCommand, signal.NoWheel)
	switch {
	case !ok:
		return errors.New("no line in Layout for the throttle")
	case s.Layout.Lines[throttle].Idle != s.Throttle.Inverted:
		return fmt.Errorf("line %s of Layout rests at the other level than Throttle.Inverted says", s.Layout.Lines[throttle].Name)
	case has(signal.ShaftA) != has(signal.ShaftB):
		return errors.New("one line of an encoder in Layout; it has two")
	case has(signal.ShaftA) && has(signal.ShaftTacho):
		return errors.New("an encoder and a tacho in Layout; the shaft carries one of them")
	case has(signal.ShaftA) && s.Encoder.Lines == 0:
		return errors.New("no Encoder.Lines; say how many a turn has")
	case has(signal.ShaftTacho) && s.Encoder.Pulses == 0:
		return errors.New("no Encoder.Pulses; say how many a turn has")
	case has(signal.CellData) != has(signal.CellClock):
		return errors.New("one line of the load cell's converter in Layout; it has two")
	}
	if data, ok := s.Layout.Find(signal.CellData, signal.NoWheel); ok && !s.Layout.Lines[data].Idle {
		return fmt.Errorf("line %s of Layout rests low; the load cell's converter has it high until a reading is ready", s.Layout.Lines[data].Name)
	}
	return nil
}

// check returns what is wrong with e, whose defaults are filled in.
func (e *ESC) check() error {
	err := outOfRange([]bound{
		{"ArmAfter in seconds", e.ArmAfter.Seconds(), 0.001, 60},
		{"Loop in seconds", e.Loop.Seconds(), step.Seconds(), 0.1},
		{"Lag in seconds", e.Lag.Seconds(), 0, 10},
		{"Resolution", float64(e.Resolution), 1, 1e9},
		{"DeadBand", e.DeadBand, 0, 0.5},
		{"Hysteresis.Depth", e.Hysteresis.Depth, 0, 1},
		{"Hysteresis.Width", e.Hysteresis.Width, 0, 0.5},
		{"Start", e.Start, 0, 0.9},
		{"Sharp.Lift", e.Sharp.Lift, 0, 1},
		{"Sharp.Knee", e.Sharp.Knee, 0, 1},
		{"Saturation", e.Saturation, 0.01, 1},
		{"Jump.By", e.Jump.By, -1, 1},
		{"Steps", float64(e.Steps), 0, 1e9},
		{"IdleDuty", e.IdleDuty, -1, 1},
		{"CurrentLimit", e.CurrentLimit, 0, 1e4},
		{"Resistance", e.Resistance, 0, 10},
		{"Standby", e.Standby, 0, 1000},
		{"ThermalMass", e.ThermalMass, 0.1, 1e6},
		{"ThermalPath", e.ThermalPath, 0.01, 1e4},
		{"Fade", e.Fade, 0, 0.1},
		{"Dropped", e.Dropped, 0, 1},
		{"Corrupted", e.Corrupted, 0, 1},
	})
	switch {
	case err != nil:
		return err
	case e.Loop%step != 0:
		return fmt.Errorf("a Loop of %v has to be a multiple of %v", e.Loop, step)
	}
	return nil
}
