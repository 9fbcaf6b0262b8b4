package trace

import (
	"cmp"
	"slices"
	"sort"

	"hilrig/rig/signal"
)

// Rows returns how many ticks the trace holds.
func (t *Trace) Rows() int {
	if t.folded != nil {
		return t.folded.rows + len(t.Column[0])
	}
	return len(t.Column[0])
}

// Length returns how many rows a column has, 0 for one that a trace that folds does not keep.
func (t *Trace) Length(c Channel) int {
	switch f := t.folded; {
	case f == nil:
		return len(t.Column[c])
	case f.keep.Columns[c]:
		return f.rows + len(t.Column[c])
	}
	return 0
}

// Values returns the rows [from, to) of a column, which has them. The slice may share the
// trace's memory.
func (t *Trace) Values(c Channel, from, to int) []float64 {
	f := t.folded
	if f == nil || f.column[c].rows == 0 {
		return t.Column[c][from:max(from, to)]
	}
	old := f.column[c].rows
	values := f.column[c].appendTo(make([]float64, 0, max(0, to-from)), from, min(to, old))
	if to > old {
		values = append(values, t.Column[c][max(from-old, 0):to-old]...)
	}
	return values
}

// SentBetween returns what was put on a wire and began in [from, to), none where to lies
// before from. The slice may share the trace's memory.
func (t *Trace) SentBetween(list SentTo, from, to signal.Time) []Sent {
	begins := func(s Sent, at signal.Time) int { return cmp.Compare(s.Start, at) }
	lo, _ := slices.BinarySearchFunc(t.Sent[list], from, begins)
	hi, _ := slices.BinarySearchFunc(t.Sent[list], to, begins)
	newest := t.Sent[list][lo:max(lo, hi)]
	if t.folded == nil {
		return newest
	}
	p := &t.folded.sent[list]
	all := make([]Sent, 0, p.within(int64(from), int64(to))+len(newest))
	p.each(p.before(int64(from)), func(x *item) bool {
		at := signal.Time(x[0])
		if at >= from && at < to {
			all = append(all, sentOf(x))
		}
		return at < to
	})
	return append(all, newest...)
}

// Any says whether any frame came.
func (o *Output) Any() bool { return len(o.Frames) > 0 || o.frames != nil && o.frames.n > 0 }

// Between returns the frames of motor that ended in [from, to), none where to
// lies before from. The slice may share the trace's memory.
func (o *Output) Between(from, to signal.Time) []Frame {
	lo, hi := search(o.Frames, from), search(o.Frames, to)
	newest := o.Frames[lo:max(lo, hi)]
	if o.frames == nil || len(o.Frames) > 0 && o.Frames[0].End < from {
		return newest
	}
	all := make([]Frame, 0, o.frames.within(int64(from), int64(to))+len(newest))
	o.each(from, to, func(x *item) { all = append(all, frameOf(x)) })
	return append(all, newest...)
}

// Count returns how many frames ended in [from, to).
func (o *Output) Count(from, to signal.Time) int {
	lo, hi := search(o.Frames, from), search(o.Frames, to)
	n := max(0, hi-lo)
	o.each(from, to, func(*item) { n++ })
	return n
}

// Before returns the n frames, or as many as there are, that ended last before t. The slice
// may share the trace's memory.
func (o *Output) Before(t signal.Time, n int) []Frame {
	hi := search(o.Frames, t)
	if o.frames == nil || hi >= n {
		return o.Frames[max(0, hi-n):hi]
	}
	var all []Frame
	for first := o.frames.before(int64(t)); ; first-- {
		all = all[:0]
		o.frames.each(first, func(x *item) bool {
			if signal.Time(x[1]) >= t {
				return false
			}
			all = append(all, frameOf(x))
			return true
		})
		if first == 0 || len(all)+hi >= n {
			break
		}
	}
	all = append(all, o.Frames[:hi]...)
	return all[max(0, len(all)-n):]
}

// each calls f with the folded frames that ended in [from, to).
func (o *Output) each(from, to signal.Time, f func(x *item)) {
	if o.frames == nil {
		return
	}
	o.frames.each(o.frames.before(int64(from)), func(x *item) bool {
		end := signal.Time(x[1])
		if end >= from && end < to {
			f(x)
		}
		return end < to
	})
}

// EventsBetween returns the events of motor in [from, to). The slice may share the trace's
// memory.
func (o *Output) EventsBetween(from, to signal.Time) []Event {
	if o.events == nil {
		comes := func(e Event, at signal.Time) int { return cmp.Compare(e.At, at) }
		lo, _ := slices.BinarySearchFunc(o.Events, from, comes)
		hi, _ := slices.BinarySearchFunc(o.Events, to, comes)
		return o.Events[lo:max(lo, hi)]
	}
	var all []Event
	o.events.each(o.events.before(int64(from)), func(x *item) bool {
		at := signal.Time(x[0])
		if at >= from && at < to {
			all = append(all, Event{at, EventKind(x[2])})
		}
		return at < to
	})
	for _, e := range o.Events {
		if e.At >= from && e.At < to {
			all = append(all, e)
		}
	}
	return all
}

// search returns the index of the first frame that ended at t or later.
func search(f []Frame, t signal.Time) int {
	return sort.Search(len(f), func(i int) bool { return f[i].End >= t })
}

// Kept says whether the trace has all rows of [from, to) as they were: one that folds has those alone
// that it was asked to keep.
func (t *Trace) Kept(from, to signal.Time) bool {
	if t.folded == nil || t.folded.keep.Rows == nil {
		return true
	}
	from, to = from-t.Start, to-t.Start
	return slices.ContainsFunc(t.folded.keep.Rows, func(s Span) bool { return s.From <= max(from, 0) && to <= s.To })
}
