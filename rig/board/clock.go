package board

import "hilrig/rig/signal"

// clock turns the bench's time into that of the board's crystal and back. The
// firmware knows only its own.
type clock struct {
	ppm int64 // by how much it runs fast
}

// local returns what the board's clock shows at the bench's time t.
func (c clock) local(t signal.Time) signal.Time {
	if c.ppm == 0 {
		return t
	}
	return t + t*signal.Time(c.ppm)/1_000_000
}

// bench returns the first of the bench's times at which the board's clock
// shows l or later.
func (c clock) bench(l signal.Time) signal.Time {
	if c.ppm == 0 {
		return l
	}
	t := l - l*signal.Time(c.ppm)/signal.Time(1_000_000+c.ppm) - 2 // a little early
	for c.local(t) < l {
		t++
	}
	return t
}
