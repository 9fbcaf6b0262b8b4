package wire

import (
	"fmt"
	"math"
	"math/bits"

	"hilrig/rig/signal"
)

// MaxEdgeRate is the highest rate of edges on A and B together that a
// [QuadratureEncoder] plays, in edges per second. Faster wheels are played at
// this rate; benches play far less, so that files are refused long before.
const MaxEdgeRate = 250e6

// maxLines is the finest encoder that can be declared, in lines per turn.
const maxLines = 100_000

// A count is a quarter of a line. Phase within a count is a fixed-point number
// of fractionBits bits. A speed is rounded to whole units of it per nanosecond, to
// within 1.1e-10 counts per second: less than one count in a hundred years.
const (
	fractionBits        = 62
	oneCount     uint64 = 1 << fractionBits
	maxRate             = int64(1 << (fractionBits - 2)) // MaxEdgeRate, in units per nanosecond
)

// EdgeRate returns how many edges per second a wheel turning at omega rad/s
// gives on A and B together. It is never negative.
func (q Quadrature) EdgeRate(omega float64) float64 {
	return math.Abs(omega) * float64(4*q.Lines) / (2 * math.Pi)
}

// check returns what is wrong with q.
func (q Quadrature) check() error {
	if q.Lines < 1 || q.Lines > maxLines {
		return fmt.Errorf("encoder of %d lines per turn; write 1 to %d", q.Lines, maxLines)
	}
	return nil
}

// QuadratureEncoder is one wheel's incremental encoder. Its lines show the
// count floor(phase), where phase is the integral of speed in quarter lines,
// carried in fixed point without rounding: where a boundary between two counts is crossed
// back, the opposite edge follows.
//
// At count 0 A and B are low, and the index is low too: it rises where the
// wheel comes to count 0 of a turn and falls where it leaves it, one nanosecond after the edge
// of A or B, as a gate behind both would. Two edges of one encoder never
// have the same time.
type QuadratureEncoder struct {
	a, b, index signal.Line
	hasIndex    bool
	lines       []signal.Line // as they were declared
	perTurn     int64         // counts
	unitsPerRad float64       // phase units per nanosecond for each rad/s

	now      signal.Time // end of the last span
	started  bool
	whole    int64  // phase at now: whole counts
	fraction uint64 // and the rest, below oneCount
	shown    int64  // the count that the lines show
	position int64  // shown modulo perTurn

	gate   bool        // an index edge is under way
	gateAt signal.Time // its time
	level  bool        // the index level that it leads to
}

// NewQuadrature returns the encoder that cfg declares, at count 0 with all lines
// low. index is not used where cfg has no index. The error says which value of
// cfg is out of range.
func NewQuadrature(cfg Quadrature, a, b, index signal.Line) (*QuadratureEncoder, error) {
	if err := cfg.check(); err != nil {
		return nil, err
	}
	lines := []signal.Line{a, b}
	if cfg.Index {
		lines = append(lines, index)
	}
	if cfg.Reverse {
		a, b = b, a
	}
	perTurn := 4 * int64(cfg.Lines)
	return &QuadratureEncoder{
		a: a, b: b, index: index, hasIndex: cfg.Index, lines: lines,
		perTurn:     perTurn,
		unitsPerRad: float64(perTurn) / (2 * math.Pi) * 1e-9 * float64(oneCount),
	}, nil
}

// Count returns the count that the lines show at the end of the last span:
// quarter lines since the beginning, positive forward.
func (e *QuadratureEncoder) Count() int64 { return e.shown }

// Level returns the level of one of the encoder's lines at the end of the last
// span; false for a line that is not the encoder's.
func (e *QuadratureEncoder) Level(line signal.Line) bool {
	switch count := e.shown & 3; {
	case line == e.a:
		return count == 1 || count == 2
	case line == e.b:
		return count >= 2
	case e.hasIndex && line == e.index:
		return e.level
	}
	return false
}

// Lines returns the encoder's lines: A, B and, where there is one, the index.
func (e *QuadratureEncoder) Lines() []signal.Line { return e.lines }

// rate returns omega in phase units per nanosecond, rounded, at most MaxEdgeRate.
func (e *QuadratureEncoder) rate(omega float64) int64 {
	r := math.Round(omega * e.unitsPerRad)
	switch {
	case r >= float64(maxRate):
		return maxRate
	case r <= -float64(maxRate):
		return -maxRate
	case r != r:
		return 0
	}
	return int64(r)
}

// Append appends the edges in [from, to) of a wheel that turns at omega rad/s
// all that time, in order of time, and returns the extended slice. Spans follow
// on each other: in a gap before from the wheel stands, and what lies before
// the end of the last span is left out. An omega beyond MaxEdgeRate is played
// at that rate; NaN is standstill.
func (e *QuadratureEncoder) Append(dst []signal.Edge, from, to signal.Time, omega float64) []signal.Edge {
	if e.started && from < e.now {
		from = e.now
	}
	if to <= from {
		return dst
	}
	e.started = true
	if e.gate && e.gateAt < from {
		e.gateAt = from
	}
	if e.whole != e.shown { // a boundary reached exactly where the last span ended
		dst = e.move(dst, from, e.whole > e.shown)
	}
	rate := e.rate(omega)
	span := uint64(to - from)
	if rate > 0 {
		dst = e.run(dst, from, span, oneCount-e.fraction, uint64(rate), true)
	} else if rate < 0 {
		dst = e.run(dst, from, span, e.fraction+1, uint64(-rate), false)
	}
	e.advance(rate, span)
	e.now = to
	if e.gate && e.gateAt < to {
		dst = e.openGate(dst)
	}
	return dst
}

// run appends the edges of a span in which the first boundary is need units
// away and the phase changes by rate units per nanosecond.
func (e *QuadratureEncoder) run(dst []signal.Edge, from signal.Time, span, need, rate uint64, forward bool) []signal.Edge {
	if hi, lo := bits.Mul64(rate, span-1); hi == 0 && lo < need {
		return dst // the boundary is not reached in this span
	}
	d := (need + rate - 1) / rate // the first nanosecond at or beyond the boundary
	over := d*rate - need         // how far beyond
	step, rest := oneCount/rate, oneCount%rate
	for d < span {
		dst = e.move(dst, from+signal.Time(d), forward)
		d += step
		if over < rest {
			over += rate
			d++
		}
		over -= rest
	}
	return dst
}

// move goes on by one count at time at and appends what that changes.
func (e *QuadratureEncoder) move(dst []signal.Edge, at signal.Time, forward bool) []signal.Edge {
	boundary := e.shown // the lower side of the boundary that is crossed, plus 1
	if forward {
		boundary++
		e.shown++
	} else {
		e.shown--
	}
	line := e.b
	if boundary&1 != 0 {
		line = e.a
	}
	// Forward, A and B rise at the boundaries to counts 1 and 2 and fall at 3 and 0.
	rises := (boundary-1)&2 == 0
	edge := signal.Edge{At: at, Line: line, Level: rises == forward}
	if e.hasIndex {
		return e.moveIndex(dst, edge, forward)
	}
	return append(dst, edge)
}

// moveIndex appends edge and what the index line does about it.
func (e *QuadratureEncoder) moveIndex(dst []signal.Edge, edge signal.Edge, forward bool) []signal.Edge {
	if e.gate {
		if e.gateAt < edge.At {
			dst = e.openGate(dst)
		} else {
			e.gate = false // the count has gone back at once: the gate swallows it
		}
	}
	left := e.position == 0
	if forward {
		if e.position++; e.position == e.perTurn {
			e.position = 0
		}
	} else {
		if e.position == 0 {
			e.position = e.perTurn
		}
		e.position--
	}
	dst = append(dst, edge)
	come := e.position == 0
	if come || left {
		e.gate, e.gateAt = come != e.level, edge.At+1
	}
	return dst
}

// openGate appends the index edge that is under way.
func (e *QuadratureEncoder) openGate(dst []signal.Edge) []signal.Edge {
	e.gate = false
	e.level = !e.level
	return append(dst, signal.Edge{At: e.gateAt, Line: e.index, Level: e.level})
}

// advance moves the phase on by rate units per nanosecond over span nanoseconds.
func (e *QuadratureEncoder) advance(rate int64, span uint64) {
	if rate >= 0 {
		hi, lo := bits.Mul64(uint64(rate), span)
		e.whole += int64(hi<<(64-fractionBits) | lo>>fractionBits)
		e.fraction += lo & (oneCount - 1)
		if e.fraction >= oneCount {
			e.fraction -= oneCount
			e.whole++
		}
		return
	}
	hi, lo := bits.Mul64(uint64(-rate), span)
	e.whole -= int64(hi<<(64-fractionBits) | lo>>fractionBits)
	part := lo & (oneCount - 1)
	if part > e.fraction {
		e.fraction += oneCount
		e.whole--
	}
	e.fraction -= part
}
