package law

import (
	"math"

	"hilrig/assertions/measure"
	"hilrig/rig/signal"
)

// Envelope asks a law of each of many commands of one history, in the order of their ends. It is a
// history being read: not for concurrent use.
type Envelope struct {
	l       *Law
	h       *History
	horizon signal.Time
	exact   bool      // the speed is as it is
	windows [9]window // in the order of places

	from, to signal.Time // asked for last
}

// Envelope returns what asks the law of commands that may rest on whatever went out up to horizon
// before their ends. A speed is what firmware reads of encoders, by as much off as single readings may be.
func (l *Law) Envelope(h *History, horizon signal.Time) *Envelope {
	return &Envelope{l: l, h: h, horizon: horizon}
}

// Exact has the envelope take the speed as it is, and returns it.
func (e *Envelope) Exact() *Envelope {
	e.exact = true
	return e
}

// Within returns what the law says of commands that ended in from..to: the hull of what any of them may be.
// It is quick where both rise from one call to the next, those of Inputs among them. ok is false where the history does not
// reach back so far, or holds something that is no number.
func (e *Envelope) Within(from, to signal.Time) (a Answer, ok bool) {
	in, ok := e.Inputs(from, to)
	if !ok {
		return a, false
	}
	return e.l.Of(&in), true
}

// Inputs returns what commands that ended in from..to may rest on; the rest is as with Within.
func (e *Envelope) Inputs(from, to signal.Time) (in Inputs, ok bool) {
	all, back := true, from < e.from || to < e.to
	e.from, e.to = from, to
	first := 0
	in = e.h.read(func(s *Series, k int) measure.Interval {
		w := &e.windows[k]
		if back {
			w.restart(s, from-e.horizon)
		}
		i, ok := w.over(s, from-e.horizon, to)
		if all = all && ok; s == &e.h.Steer {
			first = w.first
		}
		return i
	})
	if !all {
		return in, false
	}
	e.l.derive(e.h, &in, from-e.horizon, to, first)
	if !e.exact {
		in.SpeedOpen = nearSpeed
	}
	return in, true
}

// Of returns what the law says of a command that may rest on any of some inputs. A shift that integrates may still
// hold what it gathered before.
func (l *Law) Of(in *Inputs) Answer {
	a := l.At(in)
	l.gathered(&a)
	return a
}

// window is the least and the most of what holds of a series in a stretch that moves on: each end keeps the
// numbers of those values that may still become it.
type window struct {
	first, next int   // values that hold at the stretch's beginning, and that come after its end
	least, most []int // of ascending values, and of descending ones
	broken      int   // one more than the last value that is no number; 0: there is none
}

// over moves the stretch on to from..to and returns what holds in it; ok is false where nothing
// holds at its beginning, and where something is no number.
func (w *window) over(s *Series, from, to signal.Time) (i measure.Interval, ok bool) {
	for ; w.next < len(s.at) && s.at[w.next] <= to; w.next++ {
		w.take(s.value, w.next)
	}
	first := s.holdsAt(from, w.first)
	if first < 0 || w.broken > first {
		return i, false
	}
	w.first = first
	w.least, w.most = since(w.least, first), since(w.most, first)
	return measure.Interval{Low: s.value[w.least[0]], High: s.value[w.most[0]]}, true
}

// restart has the next stretch begin at from, or before it by what holds there.
func (w *window) restart(s *Series, from signal.Time) {
	first := max(s.holdsAt(from, 0), 0)
	*w = window{first: first, next: first, least: w.least[:0], most: w.most[:0]}
}

// take brings in a value.
func (w *window) take(value []float64, k int) {
	x := value[k]
	if !(math.Abs(x) <= math.MaxFloat64) {
		w.broken = k + 1
	}
	for n := len(w.least); n > 0 && !(value[w.least[n-1]] < x); n-- {
		w.least = w.least[:n-1]
	}
	for n := len(w.most); n > 0 && !(value[w.most[n-1]] > x); n-- {
		w.most = w.most[:n-1]
	}
	w.least, w.most = append(w.least, k), append(w.most, k)
}

// since drops the numbers that are below first.
func since(numbers []int, first int) []int {
	for len(numbers) > 0 && numbers[0] < first {
		numbers = numbers[1:]
	}
	return numbers
}
