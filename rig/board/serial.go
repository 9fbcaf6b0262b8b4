package board

import "hilrig/rig/signal"

// parser finds the frames among the bytes of a receiver; restart tells it of a byte that was
// received wrongly.
type parser interface {
	parse(b byte, at signal.Time)
	restart()
}

// serialInput is an asynchronous receiver, 8 data bits, with or without parity, 1 stop bit:
// it waits for the edge of a start bit and then samples the middle of each bit.
// Samples are taken when the next edge or the control loop comes by, which
// is before anybody can look at them.
type serialInput struct {
	baud int64
	mark bool // level at rest
	even bool // there is a parity bit
	not  bool // and it makes the ones odd

	level     bool
	receiving bool
	start     signal.Time
	bit       int64 // 0 start bit, 1..8 data, then parity where there is one, then the stop bit
	odd       bool  // ones so far, with even parity
	sampleAt  signal.Time
	shift     uint8
}

// edge takes a change of the line; bytes completed before it go to f.
func (r *serialInput) edge(level bool, at signal.Time, f parser) {
	r.advance(at-1, f)
	r.level = level
	if !r.receiving && level != r.mark {
		r.receiving, r.start, r.bit, r.shift, r.odd = true, at, 0, 0, false
		r.next()
	}
}

// next sets the time of the sample in the middle of the present bit.
func (r *serialInput) next() {
	r.sampleAt = r.start + signal.Time((2*r.bit+1)*int64(signal.Second)/(2*r.baud))
}

// advance takes the samples due up to and including to.
func (r *serialInput) advance(to signal.Time, f parser) {
	for r.receiving && r.sampleAt <= to {
		one := r.level == r.mark
		switch {
		case r.bit == 0:
			r.receiving = !one // a start bit that does not last was noise
		case r.bit < 9:
			r.shift >>= 1
			if one {
				r.shift |= 0x80
				r.odd = !r.odd
			}
		case r.bit == 9 && r.even:
			r.odd = r.odd != one
		default:
			r.receiving = false
			if one && !(r.even && r.odd != r.not) {
				f.parse(r.shift, r.sampleAt)
			} else {
				f.restart() // framing or parity error
			}
		}
		r.bit++
		r.next()
	}
}

func (r *serialInput) restart() {
	*r = serialInput{baud: r.baud, mark: r.mark, even: r.even, not: r.not, level: r.level}
}
