package stand

import (
	"math"

	"hilrig/plant/portable"
	"hilrig/rig/signal"
)

// gravity is the standard acceleration of free fall, in m/s2.
const gravity = 9.80665

// The converter's ways.
const (
	cellOff     = 60 * signal.Microsecond   // of clock high: it switches off
	cellAnswers = 100 * signal.Nanosecond   // from the clock's rise to the next bit
	cellReads   = 1000 * signal.Microsecond // without a clock: a readout was given up
	cellSettles = 4                         // conversions until one is right
	cellSlow    = 1.007                     // its oscillator
	never       = signal.Time(math.MaxInt64)
)

// cell is the load cell with its converter.
type cell struct {
	settings    Cell
	clock, data line
	noise       portable.Noise
	began       signal.Time // when the offset began to creep
	silent      bool        // there is no converter, or it is unplugged

	high    bool        // the clock
	edge    signal.Time // its last
	off     bool
	next    signal.Time // conversion
	settles int         // conversions still to be left out
	clocks  int         // rises since the last reading was put out
	gain    int         // clocks that selected it
	reading int32
	fresh   bool // the reading may be read
	level   bool // of data

	sum   float64 // N m, of steps since the last conversion
	count int
}

func newCell(s *Settings, at signal.Time) cell {
	c := cell{
		settings: s.Cell, clock: findLine(s.Layout, signal.CellClock), data: findLine(s.Layout, signal.CellData),
		noise: portable.NewNoise(s.Seed, "stand: load cell"), began: at, level: true,
	}
	c.wake(at)
	c.silent = !c.data.there || c.settings.Unplugged
	return c
}

// wake lets it begin after it was off.
func (c *cell) wake(at signal.Time) {
	c.off, c.gain, c.clocks, c.fresh, c.settles = false, 25, 0, false, cellSettles-1
	c.next = at + c.period()
}

// period is the time of one conversion.
func (c *cell) period() signal.Time { return signal.Time(cellSlow * 1e9 / c.settings.Rate) }

// due returns when it does something by itself.
func (c *cell) due() signal.Time {
	switch {
	case c.silent || c.off:
		return never
	case c.high:
		return min(c.next, c.edge+cellOff)
	}
	return c.next
}

// add adds what the brake took in one step.
func (c *cell) add(torque float64) { c.sum, c.count = c.sum+torque, c.count+1 }

// act does what is due.
func (c *cell) act(at signal.Time, out []signal.Edge) []signal.Edge {
	if c.high && at >= c.edge+cellOff {
		c.off = true
		return c.put(true, at, out)
	}
	return c.convert(at, out)
}

// convert ends a conversion.
func (c *cell) convert(at signal.Time, out []signal.Edge) []signal.Edge {
	c.next += c.period()
	value := c.value(at)
	if c.clocks > 0 && c.clocks < 25 && at-c.edge < cellReads {
		return out // it is being read
	}
	if c.clocks >= 25 {
		if gain := min(c.clocks, 27); gain != c.gain {
			c.gain, c.settles = gain, cellSettles
		}
	}
	c.clocks, c.fresh = 0, c.settles == 0
	if c.settles > 0 {
		c.settles--
		return c.put(true, at, out)
	}
	c.reading = value
	return c.put(false, at, out)
}

// value returns what a conversion that ends now gives, its mean since the last.
func (c *cell) value(at signal.Time) int32 {
	force := float64(c.settings.Mass * gravity)
	if c.count > 0 && c.settings.Arm > 0 {
		force += c.sum / float64(float64(c.count)*c.settings.Arm)
	}
	c.sum, c.count = 0, 0
	gain := 1.0
	switch c.gain {
	case 26:
		gain = 0 // the other input, to which nothing is connected
	case 27:
		gain = 0.5
	}
	x := c.settings.Offset + float64(c.settings.Creep*(at-c.began).Seconds()) + float64(c.settings.Noise*c.noise.Norm())
	x += float64(gain * c.settings.Scale * force)
	if c.settings.Open && gain > 0 {
		x = 1 << 23
	}
	return int32(math.Floor(min(max(x, -1<<23), 1<<23-1)))
}

// tick takes a change of the clock.
func (c *cell) tick(level bool, at signal.Time, out []signal.Edge) []signal.Edge {
	if level == c.high {
		return out
	}
	c.high, c.edge = level, at
	switch {
	case c.silent || level && c.off:
		return out
	case !level:
		if c.off {
			c.wake(at)
		}
		return out
	}
	c.clocks++
	one := true // after the last bit, and where there is no reading
	if c.clocks <= 24 && c.fresh {
		one = c.reading>>(24-c.clocks)&1 == 1
	}
	return c.put(one, at+cellAnswers, out)
}

// put gives the data line its level.
func (c *cell) put(level bool, at signal.Time, out []signal.Edge) []signal.Edge {
	if level == c.level {
		return out
	}
	c.level = level
	if n := len(out); n > 0 {
		at = max(at, out[n-1].At)
	}
	return append(out, signal.Edge{At: at, Line: c.data.index, Level: level})
}
