package trace

import (
	"crypto/sha256"
	"hash"
	"math"

	"hilrig/rig/signal"
)

const (
	foldRows = 64  // are folded at a time
	stays    = 256 // frames, events and pulses of each list stay as they are, the newest: what the rig sees of them late still changes them
)

// Fold is what a long trace keeps of what it folds away.
type Fold struct {
	// Columns are those that are kept. The others go into the digest and are forgotten.
	Columns [Channels]bool
	// Rows are the stretches whose rows are kept, counted from the trace's start, in order
	// and apart; outside them the columns stand still. nil keeps all.
	Rows []Span
}

// folded is what was folded away.
type folded struct {
	keep   Fold
	rows   int
	span   int // of keep.Rows: the first that is not over
	column [Channels]runs
	sent   [SentTos]pack
	sum    hash.Hash // of all of it
	hasher hasher
}

// Folding has the trace keep what it holds in few bytes, from its next Reset on, as a drive of
// hours needs; with nil it keeps everything as it is. What was folded is no more in Column,
// Sent, Frames and Events, which then have only what is newest; the methods have all of it.
func (t *Trace) Folding(keep *Fold) { t.keep = keep }

// Folds says whether the trace folds.
func (t *Trace) Folds() bool { return t.folded != nil }

// unfold forgets what was folded, and gets ready to fold where it is to.
func (t *Trace) unfold() {
	t.folded = nil
	for i := range t.Motor {
		t.Motor[i].frames, t.Motor[i].events = nil, nil
	}
	if t.keep == nil {
		return
	}
	t.folded = &folded{keep: *t.keep, sum: sha256.New()}
	t.folded.hasher.w = t.folded.sum
	for i := range t.Motor {
		t.Motor[i].frames, t.Motor[i].events = new(pack), new(pack)
	}
}

// FoldsNow says whether Fold would fold something away.
func (t *Trace) FoldsNow() bool { return t.folded != nil && len(t.Column[0]) >= foldRows }

// Fold folds away what is old enough, where the trace folds. The rig calls it with each tick.
func (t *Trace) Fold() {
	if !t.FoldsNow() {
		return
	}
	f := t.folded
	// What goes, as a trace of its own for the digest.
	part := Trace{Start: t.Start + signal.Time(f.rows)*t.Tick, Tick: t.Tick, Column: t.Column}
	for i := range t.Sent {
		part.Sent[i] = t.Sent[i][:max(0, len(t.Sent[i])-stays)]
	}
	for i := range t.Motor {
		m := &t.Motor[i]
		part.Motor[i].Frames = m.Frames[:max(0, len(m.Frames)-stays)]
		part.Motor[i].Events = m.Events[:max(0, len(m.Events)-stays)]
	}
	part.hash(&f.hasher)
	f.rowsOf(t)
	for i, sent := range part.Sent {
		for j := range sent {
			x := wordsOfSent(&sent[j])
			f.sent[i].add(&x)
		}
		t.Sent[i] = shifted(t.Sent[i], len(sent))
	}
	for i := range t.Motor {
		m := &t.Motor[i]
		for j := range part.Motor[i].Frames {
			x := wordsOfFrame(&part.Motor[i].Frames[j])
			m.frames.add(&x)
		}
		for _, e := range part.Motor[i].Events {
			m.events.add(&item{uint64(e.At), uint64(e.At), uint64(e.Kind)})
		}
		m.Frames, m.Events = shifted(m.Frames, len(part.Motor[i].Frames)), shifted(m.Events, len(part.Motor[i].Events))
	}
}

// rowsOf folds the columns' rows.
func (f *folded) rowsOf(t *Trace) {
	for row := range t.Column[0] {
		at := signal.Time(f.rows) * t.Tick
		spans := f.keep.Rows
		for f.span < len(spans) && spans[f.span].To <= at {
			f.span++
		}
		kept := spans == nil || f.span < len(spans) && spans[f.span].From <= at
		for c := range t.Column {
			switch {
			case !f.keep.Columns[c]:
			case kept || f.rows == 0:
				f.column[c].add(t.Column[c][row])
			default:
				f.column[c].hold()
			}
		}
		f.rows++
	}
	for c := range t.Column {
		t.Column[c] = t.Column[c][:0]
	}
}

// shifted drops the first n of s and keeps its memory.
func shifted[T any](s []T, n int) []T { return s[:copy(s, s[n:])] }

func wordsOfFrame(f *Frame) item {
	return item{uint64(f.Start), uint64(f.End), math.Float64bits(f.Value), math.Float64bits(f.Uncertainty)}
}

func frameOf(x *item) Frame {
	return Frame{signal.Time(x[0]), signal.Time(x[1]), math.Float64frombits(x[2]), math.Float64frombits(x[3])}
}

func wordsOfSent(s *Sent) item {
	x := item{uint64(s.Start), uint64(s.End), math.Float64bits(s.Value), math.Float64bits(s.ValueUncertainty), 0, uint64(s.Late), uint64(s.EndUncertainty)}
	if s.Bad {
		x[4] = 1
	}
	return x
}

func sentOf(x *item) Sent {
	return Sent{
		Start: signal.Time(x[0]), End: signal.Time(x[1]), Value: math.Float64frombits(x[2]), ValueUncertainty: math.Float64frombits(x[3]),
		Bad: x[4] == 1, Late: signal.Time(x[5]), EndUncertainty: signal.Time(x[6]),
	}
}

// Bytes is what the trace's content takes in memory.
func (t *Trace) Bytes() int {
	n := 0
	for i := range t.Column {
		n += 8 * cap(t.Column[i])
	}
	for i := range t.Sent {
		n += 56 * cap(t.Sent[i])
	}
	for i := range t.Motor {
		m := &t.Motor[i]
		n += 32*cap(m.Frames) + 16*cap(m.Events)
		if m.frames != nil {
			n += m.frames.bytes() + m.events.bytes()
		}
	}
	if f := t.folded; f != nil {
		for i := range f.column {
			n += f.column[i].bytes()
		}
		for i := range f.sent {
			n += f.sent[i].bytes()
		}
	}
	return n
}
