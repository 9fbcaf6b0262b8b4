package chardev

import (
	"cmp"
	"slices"

	"hilrig/rig/raspberry/hostlines"
	"hilrig/rig/raspberry/timing"
	"hilrig/rig/signal"
)

// vehicle is four wheels' encoders and a receiver's channels.
type vehicle struct {
	wheels  *timing.Wheels
	channel signal.Line // the first
	next    signal.Time // when the channels change
	high    bool

	was     bool // high and next before the last Until
	wasNext signal.Time
}

// A receiver's pulses begin and end together here: one call sets all of them.
const (
	receiverChannels = 3
	receiverFrame    = 10 * signal.Millisecond
	receiverPulse    = 1500 * signal.Microsecond
)

// newVehicle returns one with its lines: those of the wheels, the channels, and one
// that is listened to, as no bench is without.
func newVehicle(rate float64) (*vehicle, signal.Layout, hostlines.Pins) {
	v := &vehicle{wheels: timing.NewWheels(rate)}
	layout, pins := v.wheels.Layout()
	v.channel = signal.Line(len(layout.Lines))
	for _, role := range []signal.Role{signal.SteerPulse, signal.ThrottlePulse, signal.GainPulse} {
		layout.Lines = append(layout.Lines, signal.Spec(role, signal.NoWheel))
	}
	layout.Lines = append(layout.Lines, signal.LineSpec{Name: "motor", Role: signal.Motor, Direction: signal.Capture})
	for len(pins) < len(layout.Lines) {
		pins = append(pins, uint8(len(pins)))
	}
	return v, layout, pins
}

func (v *vehicle) Begin(t signal.Time) {
	v.wheels.Begin(t)
	v.next = t + receiverPulse
}

func (v *vehicle) Until(dst []signal.Edge, t signal.Time) []signal.Edge {
	first := len(dst)
	dst = v.wheels.Until(dst, t)
	v.was, v.wasNext = v.high, v.next
	for v.next < t {
		v.high = !v.high
		for i := range receiverChannels {
			dst = append(dst, signal.Edge{At: v.next, Line: v.channel + signal.Line(i), Level: v.high})
		}
		if v.high {
			v.next += receiverPulse
		} else {
			v.next += receiverFrame - receiverPulse
		}
	}
	slices.SortStableFunc(dst[first:], func(a, b signal.Edge) int { return cmp.Compare(a.At, b.At) })
	return dst
}

// Undo has the wheels go on from the levels that their lines have. A receiver that
// was to change in the meantime does so in its next frame.
func (v *vehicle) Undo(edges []signal.Edge) {
	v.wheels.Undo(edges)
	if v.high != v.was {
		v.high, v.next = v.was, v.wasNext+receiverFrame
	}
}

// bursts is one line that changes at a steady rate, and rests after each burst.
type bursts struct {
	period float64 // ns
	next   float64 // time of the next edge, ns
	from   float64 // the beginning of time, ns
	level  bool
}

// A burst and its rest.
const (
	burstEvery = 10 * signal.Millisecond
	burstFor   = burstEvery - 500*signal.Microsecond
)

func (b *bursts) Begin(t signal.Time) { b.next, b.from = float64(t), float64(t) }

func (b *bursts) Until(dst []signal.Edge, t signal.Time) []signal.Edge {
	for b.next < float64(t) {
		n := int64((b.next - b.from) / float64(burstEvery))
		burst := b.from + float64(float64(n)*float64(burstEvery))
		if b.period < float64(burstEvery-burstFor) && b.next-burst > float64(burstFor) {
			b.next = burst + float64(burstEvery)
			continue
		}
		b.level = !b.level
		dst = append(dst, signal.Edge{At: signal.Time(b.next), Level: b.level})
		b.next += b.period
	}
	return dst
}

func (b *bursts) Undo(edges []signal.Edge) { b.level = b.level != (len(edges)%2 == 1) }
