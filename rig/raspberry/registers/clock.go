package registers

import (
	"math/bits"
	"time"

	"hilrig/rig/signal"
)

// clock tells the time since it was made. It may be read from any goroutine, unless its
// time is that of turns on a clock from outside.
type clock struct {
	turns   *turning // tells the time; nil: the machine does
	made    time.Time
	counter bool        // read the processor's counter; otherwise ask the operating system
	base    uint64      // the counter's state at time 0
	scale   uint64      // ns in a count, times 2^32
	grain   signal.Time // the counter may be further by up to this than it says: the time of one count
}

// newClock returns a clock at time 0. Where the counter's rate is not known it
// is measured, which takes 20 ms.
func newClock() *clock {
	c := &clock{counter: counterFit()}
	if c.counter {
		c.scale = nanosecondsPerCount()
	}
	c.counter = c.scale > 0
	if c.counter {
		c.grain = grainOf(c.scale)
	}
	c.made = time.Now()
	c.base = count()
	return c
}

// now returns the time since the clock was made.
//
//go:nosplit
func (c *clock) now() signal.Time {
	if !c.counter {
		return c.otherwise()
	}
	return c.after(count() - c.base)
}

// after returns the time of a number of counts.
//
//go:nosplit
func (c *clock) after(counts uint64) signal.Time {
	hi, lo := bits.Mul64(counts, c.scale)
	return signal.Time(hi<<32 | lo>>32)
}

// grainOf returns how long a count lasts, rounded up.
func grainOf(scale uint64) signal.Time { return signal.Time((scale + 1<<32 - 1) >> 32) }

// reached returns a time that is past for certain no earlier than it is returned: what was done
// before the call was done by then. Where a count lasts 52 ns, as on a Pi 3, the clock says up to
// that much less than it is.
//
//go:nosplit
func (c *clock) reached() signal.Time { return c.now() + c.grain }

// otherwise returns the time where no counter tells it.
func (c *clock) otherwise() signal.Time {
	if c.turns != nil {
		return c.turns.at
	}
	return signal.Time(time.Since(c.made))
}

// measureScale compares the counter with the system's monotonic clock. Of several
// readings at either end it takes the pair that was read closest together.
func measureScale() uint64 {
	read := func() (at time.Duration, counted uint64) {
		began, best := time.Now(), time.Duration(1<<62)
		for range 20 {
			before := time.Since(epoch)
			n := count()
			after := time.Since(epoch)
			if after-before < best {
				best, at, counted = after-before, before+(after-before)/2, n
			}
			if time.Since(began) > 5*time.Millisecond {
				break
			}
		}
		return at, counted
	}
	t0, n0 := read()
	for time.Since(epoch)-t0 < 20*time.Millisecond {
		time.Sleep(time.Millisecond)
	}
	t1, n1 := read()
	if n1 <= n0 {
		return 0
	}
	// (t1-t0)/(n1-n0) below 2^32 ns a count: the quotient of 2^64 fits.
	scale, _ := bits.Div64(uint64(t1-t0)>>32, uint64(t1-t0)<<32, n1-n0)
	return scale
}

// epoch is any moment from which the system's monotonic clock is read.
var epoch = time.Now()
