package board

import "hilrig/rig/signal"

// serialInput is an asynchronous receiver, 8 data bits, no parity, 1 stop bit:
// it waits for the edge of a start bit and then samples the middle of each bit.
// Samples are taken when the next edge or the control loop comes by, which
// is before anybody can look at them.
type serialInput struct {
	baud int64
	mark bool // level at rest

	level     bool
	receiving bool
	start     signal.Time
	bit       int64 // 0 start bit, 1..8 data, 9 stop bit
	sampleAt  signal.Time
	shift     uint8
}

// edge takes a change of the line; bytes completed before it go to f.
func (r *serialInput) edge(level bool, at signal.Time, f *frameParser) {
	r.advance(at-1, f)
	r.level = level
	if !r.receiving && level != r.mark {
		r.receiving, r.start, r.bit, r.shift = true, at, 0, 0
		r.next()
	}
}

// next sets the time of the sample in the middle of the present bit.
func (r *serialInput) next() {
	r.sampleAt = r.start + signal.Time((2*r.bit+1)*int64(signal.Second)/(2*r.baud))
}

// advance takes the samples due up to and including to.
func (r *serialInput) advance(to signal.Time, f *frameParser) {
	for r.receiving && r.sampleAt <= to {
		one := r.level == r.mark
		switch {
		case r.bit == 0:
			r.receiving = !one // a start bit that does not last was noise
		case r.bit < 9:
			r.shift >>= 1
			if one {
				r.shift |= 0x80
			}
		default:
			r.receiving = false
			if one {
				f.take(r.shift, r.sampleAt)
			} else {
				f.restart() // framing error
			}
		}
		r.bit++
		r.next()
	}
}

func (r *serialInput) restart() {
	*r = serialInput{baud: r.baud, mark: r.mark, level: r.level}
}
