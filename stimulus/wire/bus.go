package wire

import (
	"errors"
	"fmt"
	"math"

	"hilrig/rig/signal"
)

// BusChannels is how many channels a receiver bus has.
const BusChannels = 16

// busMost is the highest count of a channel: 11 bits.
const busMost = 2047

// Where a frame's flags are, and the failsafe flag among them.
const (
	busFlags    = 23
	busFailsafe = 1 << 3
)

// Bus declares a receiver that sends all its channels on one serial line, 100 kbaud
// 8E2: a start byte 0x0F, 16 channels of 11 bits each, lowest bit first, a byte of
// flags, an end byte. 25 bytes, 3 ms. The zero value is no bus.
//
// Sources: the layout as public decoders read it; that the line is inverted is usual.
type Bus struct {
	Port    string      // name of the port, "receiver_bus"; "": there is no bus
	Period  signal.Time // from frame to frame, 3 ms at least
	Upright bool        // idle high; otherwise the line is inverted
	Steer   BusChannel
	// Throttle and Gain: see Steer.
	Throttle, Gain BusChannel
	Rest           [BusChannels]uint16 // counts of the channels that carry none of these, 0 to 2047
	Flags          byte                // bit 0 channel 17, 1 channel 18, 2 frame lost, 3 failsafe
	End            byte                // the last byte; 0x00 as a rule
}

// BusChannel says on which channel of a bus a quantity goes and how.
type BusChannel struct {
	Number    int // 1 to 16; 0 where it is not carried
	Low, High int // counts that stand for LowValue and HighValue, 0 to 2047
	// LowValue and HighValue are in the SI unit of the channel (share, or rad for
	// steer); between them and beyond the count is linear.
	LowValue, HighValue float64
	Curve               *Curve // bends the value before the count; nil: it does not
}

// Finest returns by how much the value goes from one count to the next, in its unit; 0 where the channel is not carried.
func (c *BusChannel) Finest() float64 {
	if c.Number == 0 {
		return 0
	}
	return math.Abs(c.perCount())
}

// Spec returns the port of the bus; its Line is 0.
func (b *Bus) Spec() signal.PortSpec {
	return signal.PortSpec{Name: b.Port, Baud: 100_000, Parity: signal.EvenParity, StopBits: 2, Inverted: !b.Upright}
}

// check returns what is wrong with c.
func (c *BusChannel) check() error {
	switch {
	case c.Number < 0 || c.Number > BusChannels:
		return fmt.Errorf("channel %d; write 1 to %d", c.Number, BusChannels)
	case c.Low < 0 || c.Low > busMost || c.High < 0 || c.High > busMost:
		return fmt.Errorf("counts %d and %d; write 0 to %d", c.Low, c.High, busMost)
	case c.Low == c.High:
		return fmt.Errorf("both ends are %d counts; write two different counts", c.Low)
	case c.LowValue == c.HighValue || !finite(c.LowValue) || !finite(c.HighValue):
		return fmt.Errorf("both ends stand for %g and %g; write two different finite values", c.LowValue, c.HighValue)
	}
	return nil
}

// perCount is the value of one count.
func (c *BusChannel) perCount() float64 {
	return (c.HighValue - c.LowValue) / float64(c.High-c.Low)
}

// Count returns the count that stands for value, not rounded and not clipped.
func (c *BusChannel) Count(value float64) float64 {
	return float64(c.Low) + (c.Curve.Mapped(value)-c.LowValue)/c.perCount()
}

// ValueOf returns the value that a count stands for.
func (c *BusChannel) ValueOf(count float64) float64 {
	return c.Curve.Value(c.straight(count))
}

// straight returns the mapped value that a count stands for.
func (c *BusChannel) straight(count float64) float64 {
	return c.LowValue + float64((count-float64(c.Low))*c.perCount())
}

// Mirrored returns the value whose count is as far above the middle of the range
// as that of value is below it.
func (c *BusChannel) Mirrored(value float64) float64 {
	return c.Curve.Value(c.LowValue + (c.HighValue - c.Curve.Mapped(value)))
}

// Frame returns the message that the bus sends; its channels are "steer",
// "throttle" and "gain", in the order of their numbers. The error says which channel is wrong.
func (b *Bus) Frame() (Frame, error) {
	parts := make([]Field, BusChannels)
	for i := range parts {
		if b.Rest[i] > busMost {
			return Frame{}, fmt.Errorf("channel %d rests at %d counts; write 0 to %d", i+1, b.Rest[i], busMost)
		}
		parts[i] = Field{Kind: Constant, Width: 11, Value: uint64(b.Rest[i])}
	}
	for _, one := range []struct {
		name string
		c    *BusChannel
	}{{"steer", &b.Steer}, {"throttle", &b.Throttle}, {"gain", &b.Gain}} {
		if one.c.Number == 0 {
			continue
		}
		if err := one.c.check(); err != nil {
			return Frame{}, fmt.Errorf("%s: %w", one.name, err)
		}
		p := &parts[one.c.Number-1]
		if p.Kind != Constant {
			return Frame{}, fmt.Errorf("%s and %s are both on channel %d; give each its own", p.Channel, one.name, one.c.Number)
		}
		*p = Field{Kind: Integer, Width: 11, Channel: one.name, Scale: one.c.perCount(), Offset: one.c.straight(0), Exact: true, Curve: one.c.Curve}
	}
	f := Frame{Port: b.Port, Period: b.Period, FlagAt: busFlags, FailsafeFlag: busFailsafe, Fields: []Field{
		{Kind: Constant, Bytes: []byte{0x0F}},
		{Kind: Bits, LowFirst: true, Parts: parts},
		{Kind: Constant, Bytes: []byte{b.Flags, b.End}},
	}}
	switch {
	case b.Port == "":
		return f, errors.New("a receiver bus without a port; name one")
	case b.Period < 3*signal.Millisecond:
		return f, fmt.Errorf("bus frames every %v, but each takes 3 ms; write a longer period", b.Period)
	}
	return f, nil
}
