package stand

import (
	"cmp"
	"slices"

	"hilrig/rig/signal"
)

// ESC says what a speed controller is and makes of its throttle. The zero value is an even
// controller without limits, whose winding freewheels at idle.
type ESC struct {
	Name string

	// Firmware.
	ArmAfter   signal.Time // of idle before it drives; 0 means 300 ms
	Loop       signal.Time // of its loop, a multiple of 250 us; 0 means 500 us
	Lag        signal.Time // time constant of its duty's answer; 0 means 2 ms
	Resolution int         // steps of duty from idle to full; 0 means 2000

	// Throttle map, in the order in which it is gone through.
	DeadBand   float64 // a command that turns back by no more than this is not followed
	Hysteresis Hysteresis
	Start      float64 // commands below it are idle
	Sharp      Sharp
	Saturation float64 // the command of full duty; 0 means 1
	Jump       Jump
	Steps      int     // duty comes in so many steps alone; 0 means in those of Resolution
	IdleDuty   float64 // at idle it drives with this duty, -1..1; 0 means that it does not drive

	// Power.
	CurrentLimit float64 // A, of the winding; 0 means none
	Synchronous  bool    // it also brakes down to its duty, and else only drives
	Brakes       bool    // at idle the winding is shorted
	Resistance   float64 // ohm of the switches, which heat it; it is part of the motor's
	Standby      float64 // W that heat it always
	ThermalMass  float64 // J/K; 0 means 15
	ThermalPath  float64 // K/W to the air; 0 means 12
	Fade         float64 // share of duty that it loses by each kelvin of heating

	// Telemetry: shares of frames.
	Dropped, Corrupted float64
}

// Hysteresis is a throttle that lags behind its command: of a command that turns back, the share
// Depth comes only after twice Width.
type Hysteresis struct {
	Depth float64 // 0 to 1
	Width float64 // share of range
}

// Sharp makes the low end steeper: Lift x (1-x) / (x+Knee) more than x.
type Sharp struct {
	Lift float64
	Knee float64 // share of range
}

// Jump is a wrong entry in the throttle map: about At, half Width to each side, duty is By more.
type Jump struct{ At, Width, By float64 }

// ambient is the temperature of the air, in degrees Celsius.
const ambient = 22

// linear is an even controller; the others differ from it by one defect each.
var linear = ESC{
	Name: "linear", Start: 0.015, CurrentLimit: 60, Resistance: 0.008, Standby: 0.3,
}

var escs = []ESC{
	linear,
	linear.but("sharpened", func(e *ESC) { e.Sharp = Sharp{Lift: 0.12, Knee: 0.08} }),
	linear.but("wide_dead_band", func(e *ESC) { e.DeadBand = 0.03 }),
	linear.but("hysteresis", func(e *ESC) { e.Hysteresis = Hysteresis{Depth: 0.6, Width: 0.025} }),
	linear.but("saturating", func(e *ESC) { e.Saturation = 0.8 }),
	linear.but("coarse", func(e *ESC) { e.Steps = 48 }),
	linear.but("drifting", func(e *ESC) { e.Standby, e.Fade = 3, 0.0015 }),
	linear.but("dropping_telemetry", func(e *ESC) { e.Dropped, e.Corrupted = 0.4, 0.1 }),
	linear.but("jumping", func(e *ESC) { e.Jump = Jump{At: 0.6, Width: 0.02, By: 0.08} }),
	linear.but("reversing_at_idle", func(e *ESC) { e.IdleDuty = -0.06 }),
}

func (e ESC) but(name string, change func(*ESC)) ESC {
	change(&e)
	e.Name = name
	return e
}

// ESCs lists the names of the controllers: first an even one, then those with one defect each.
func ESCs() []string {
	names := make([]string, len(escs))
	for i, e := range escs {
		names[i] = e.Name
	}
	return names
}

// ESCNamed returns the controller of that name; ok is false where there is none.
func ESCNamed(name string) (e ESC, ok bool) {
	i := slices.IndexFunc(escs, func(e ESC) bool { return e.Name == name })
	return escs[max(i, 0)], i >= 0
}

// withDefaults fills in what is 0 and has a default.
func (e ESC) withDefaults() ESC {
	e.ArmAfter = cmp.Or(e.ArmAfter, 300*signal.Millisecond)
	e.Loop = cmp.Or(e.Loop, 500*signal.Microsecond)
	e.Lag = cmp.Or(e.Lag, 2*signal.Millisecond)
	e.Resolution = cmp.Or(e.Resolution, 2000)
	e.Saturation = cmp.Or(e.Saturation, 1)
	e.ThermalMass = cmp.Or(e.ThermalMass, 15)
	e.ThermalPath = cmp.Or(e.ThermalPath, 12)
	return e
}
