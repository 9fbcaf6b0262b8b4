package rig

import (
	"math"

	"hilrig/plant"
	"hilrig/rig/signal"
	"hilrig/rig/trace"
	"hilrig/stimulus"
)

// hub works out the wheel speeds of a held speed, yaw rate and steer angle, and
// remembers the last: the rule has a sine in it and holds are long.
type hub struct {
	car                   plant.Car
	speed, yawRate, steer float64
	rates                 [4]float64
	edges                 [4][]signal.Edge
}

// wheels returns the wheels' rates in rad/s.
func (h *hub) wheels(speed, yawRate, steer float64) *[4]float64 {
	if speed != h.speed || yawRate != h.yawRate || steer != h.steer {
		h.speed, h.yawRate, h.steer = speed, yawRate, steer
		h.rates = h.car.WheelRates(speed, yawRate, steer)
	}
	return &h.rates
}

// hold fills the wheel speeds of a tick in open loop: by the hub rule and the program's slip, or as
// the program overrides them.
func (r *Rig) hold(p *stimulus.Program, at signal.Time) {
	rates := r.hub.wheels(r.values[trace.Speed], r.values[trace.YawRate], r.values[trace.Steer])
	for i, w := range rates {
		if slip := p.Slip[i]; slip != nil {
			w += float64(w * slip.At(at))
		}
		r.values[int(trace.WheelFrontLeft)+i] = w
		if p.Wheels[i] != nil {
			if w := p.Wheels[i].At(at); w == w {
				r.values[int(trace.WheelFrontLeft)+i] = w
			}
		}
	}
	for c := trace.LateralSpeed; c < trace.Channels; c++ {
		r.values[c] = 0
	}
	r.values[trace.Heading] = r.heading
	r.heading = wrapped(r.heading + float64(r.values[trace.YawRate]*r.tick.Seconds()))
}

// wrapped returns an angle in rad as one from -pi to pi.
func wrapped(angle float64) float64 { return math.Remainder(angle, 2*math.Pi) }

// release hands the car over to the plant, from the values held so far.
func (r *Rig) release() {
	rates := r.hub.wheels(r.values[trace.Speed], r.values[trace.YawRate], r.values[trace.Steer])
	r.model.Reset(plant.State{
		Vx:      r.values[trace.Speed],
		Heading: r.heading,
		YawRate: r.values[trace.YawRate],
		Steer:   r.values[trace.Steer],
		Wheel:   *rates,
	})
}

// step steps the plant by one tick under the board's commands and what the program
// plays, from its time at on, and fills the tick's values from it. The plant holds its
// inputs over a step, so that the steering and the bumps are taken in the middle of the tick:
// from its beginning they would act half a tick late.
func (r *Rig) step(p *stimulus.Program, at signal.Time) {
	middle := at + r.tick/2
	in := plant.Input{Steer: p.Steer.At(middle), Command: r.command}
	for i := range p.Bumps {
		if b := &p.Bumps[i]; middle >= b.From && middle < b.To && b.Wheel >= 0 && b.Wheel < len(in.Unload) {
			in.Unload[b.Wheel] = 1 - b.Load
		}
	}
	r.model.Step(in, r.tick.Seconds())
	s := r.model.State()
	r.values[trace.Speed] = s.Vx
	r.values[trace.YawRate] = s.YawRate
	for i, w := range s.Wheel {
		r.values[int(trace.WheelFrontLeft)+i] = w
	}
	r.values[trace.LateralSpeed] = s.Vy
	r.values[trace.Heading] = s.Heading
	r.heading = wrapped(s.Heading)
	r.values[trace.PositionX] = s.X
	r.values[trace.PositionY] = s.Y
	o := r.model.Output()
	r.values[trace.LongitudinalAccel] = o.LongitudinalAccel
	r.values[trace.LateralAccel] = o.LateralAccel
}
