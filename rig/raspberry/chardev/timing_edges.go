package chardev

import (
	"slices"

	"hilrig/rig/raspberry/registers"
	"hilrig/rig/signal"
)

// charEdges is what a [CharTrial] plays.
type charEdges interface {
	begin(t signal.Time)
	// until appends the edges before t, in order of time.
	until(dst []signal.Edge, t signal.Time) []signal.Edge
	// takeBack undoes the last until: its edges are not played.
	takeBack()
}

// vehicle is four wheels' encoders and a receiver's channels.
type vehicle struct {
	wheels  *registers.Wheels
	channel signal.Line // the first
	next    signal.Time // when the channels change
	high    bool

	last    []signal.Edge // of the wheels, by the last until
	was     bool          // high and next before it
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
func newVehicle(rate float64) (*vehicle, signal.Layout, registers.Pins) {
	v := &vehicle{wheels: registers.NewWheels(rate)}
	layout, pins := v.wheels.Layout(nil)
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

func (v *vehicle) begin(t signal.Time) {
	v.wheels.Begin(t)
	v.next = t + receiverPulse
}

func (v *vehicle) until(dst []signal.Edge, t signal.Time) []signal.Edge {
	first := len(dst)
	dst = v.wheels.Until(dst, t)
	v.last = append(v.last[:0], dst[first:]...)
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
	slices.SortStableFunc(dst[first:], func(a, b signal.Edge) int { return int(max(-1, min(1, a.At-b.At))) })
	return dst
}

// takeBack has the wheels go on from the levels that their lines have. A receiver that
// was to change in the meantime does so in its next frame.
func (v *vehicle) takeBack() {
	v.wheels.TakeBack(v.last)
	v.last = v.last[:0]
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
	odd    bool // the last until was of an odd number of edges
}

// A burst and its rest.
const (
	burstEvery = 10 * signal.Millisecond
	burstFor   = burstEvery - 500*signal.Microsecond
)

func (b *bursts) begin(t signal.Time) { b.next, b.from = float64(t), float64(t) }

func (b *bursts) until(dst []signal.Edge, t signal.Time) []signal.Edge {
	first := len(dst)
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
	b.odd = (len(dst)-first)%2 == 1
	return dst
}

func (b *bursts) takeBack() {
	b.level = b.level != b.odd
	b.odd = false
}
