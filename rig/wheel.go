package rig

import (
	"hilrig/plant"
	"hilrig/plant/portable"
	"hilrig/rig/signal"
	"hilrig/stimulus/wire"
)

// wheelSensor makes the encoder of a wheel.
func (r *Rig) wheelSensor(s Settings, wheel plant.Wheel, line func(signal.Role, signal.Wheel) signal.Line) (wire.WheelEncoder, error) {
	sensor := &s.Wiring.Encoders[wheel]
	var lines []signal.Line
	for _, role := range sensor.Wires() {
		lines = append(lines, line(role, signal.Wheels[wheel]))
	}
	e, err := sensor.New(lines...)
	if err != nil {
		return nil, err
	}
	if d, ok := e.(*wire.DutyEncoder); ok {
		noise := portable.NewNoise(s.Seed, "noise of "+wheel.String())
		d.SetNoise(&noise)
		d.Delay(r.phase(sensor.Duty.Period))
		r.duty = append(r.duty, d)
	}
	return e, nil
}
