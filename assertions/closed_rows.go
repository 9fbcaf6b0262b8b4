package assertions

import (
	"math"

	"hilrig/rig/signal"
	"hilrig/rig/trace"
)

// rows are the rows from..to-1 of a trace.
type rows struct {
	trace    *trace.Trace
	from, to int
	column   map[trace.Channel][]float64 // those that were asked for
}

// rowsOf returns the rows whose ticks begin in [from, to), as far as the
// columns that are read in closed loop reach.
func rowsOf(t *trace.Trace, from, to signal.Time, channels ...trace.Channel) rows {
	if t == nil || t.Tick <= 0 {
		return rows{trace: t}
	}
	n := math.MaxInt
	for _, c := range channels {
		n = min(n, t.Length(c))
	}
	row := func(at signal.Time) int {
		i := (at - t.Start + t.Tick - 1) / t.Tick
		return int(min(max(i, 0), signal.Time(n)))
	}
	s := rows{trace: t, from: row(from), to: row(to)}
	s.to = max(s.from, s.to)
	if s.n() > 0 {
		s.column = map[trace.Channel][]float64{}
		for _, c := range channels {
			s.column[c] = t.Values(c, s.from, s.to)
		}
	}
	return s
}

// n is how many rows there are.
func (s *rows) n() int { return s.to - s.from }

// of returns the rows of a column that was asked for; they may be the trace's own.
func (s *rows) of(c trace.Channel) []float64 {
	return s.column[c]
}

// time is when row i, counted from the first, begins.
func (s *rows) time(i int) signal.Time {
	return s.trace.Start + signal.Time(s.from+i)*s.trace.Tick
}

// valueAt returns a column's value at a time, by the straight line between its
// rows. ok is false outside the trace and where the value is not finite.
func valueAt(t *trace.Trace, c trace.Channel, at signal.Time) (x float64, ok bool) {
	if t.Tick <= 0 || at < t.Start {
		return 0, false
	}
	i, n := int64((at-t.Start)/t.Tick), int64(t.Length(c))
	if i >= n {
		return 0, false
	}
	rows := t.Values(c, int(i), int(min(i+2, n)))
	x = rows[0]
	if len(rows) > 1 {
		part := float64((at-t.Start)%t.Tick) / float64(t.Tick)
		x += float64(part * (rows[1] - rows[0]))
	}
	return x, !math.IsNaN(x) && !math.IsInf(x, 0)
}
