package simulated

import "hilrig/rig/signal"

// Exact says that both edge output and sampler are perfect: every driven edge is on its
// wire when it is due.
func (b *Bench) Exact() bool { return b.output.perfect && b.sampler.Period == 0 }

// Samples says that all driven lines are looked at.
func (b *Bench) Samples(line signal.Line) bool {
	return int(line) < len(b.layout.Lines) && b.layout.Lines[line].Direction == signal.Drive
}

// LateStretches appends nothing: all lines are read back.
func (b *Bench) LateStretches(dst []signal.LateStretch) []signal.LateStretch { return dst }

// ReadBack appends the edges of driven lines, port levels included, that were
// sampled since the last call; driven lines are read from the first call on, which
// has to come before time passes. Where the bench is [Bench.Exact] there are none.
func (b *Bench) ReadBack(dst []signal.Edge) ([]signal.Edge, error) {
	if b.closed {
		return dst, errClosed
	}
	if !b.reading && !b.Exact() {
		b.reading = true
		b.sampler.readAll()
	}
	dst = append(dst, b.back...)
	b.back = b.back[:0]
	return dst, nil
}

// look samples a stretch of time that ends at t: the edges that were driven in it
// and the board's.
func (b *Bench) look(in, out []signal.Edge, t signal.Time) {
	switch {
	case !b.reading:
	case b.sampler.Period > 0:
		b.streams = append(b.streams[:0], in, out)
		b.passed = signal.Merge(b.passed[:0], b.streams)
		b.sampled = b.sampler.sample(b.sampled[:0], b.passed, t)
		for _, e := range b.sampled {
			if b.layout.Lines[e.Line].Direction == signal.Capture {
				b.captured = append(b.captured, e)
			} else {
				b.back = append(b.back, e)
			}
		}
		return
	default:
		b.back = append(b.back, in...)
	}
	b.captured = b.sampler.sample(b.captured, out, t)
}
