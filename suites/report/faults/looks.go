package faults

import (
	"fmt"
	"strings"

	"hilrig/rig/board"
	"hilrig/rig/board/moment"
	"hilrig/rig/signal"
	"hilrig/suites/record"
	"hilrig/suites/report"
)

// Looks is what a NO-GO looks like by its pattern: a likeness, which proves nothing.
type Looks struct {
	Like    []Likeness // the likeliest faults, the likest first; none: it looks like none of the table's
	Alike   bool       // the pattern does not tell them apart
	Nearest *Likeness  // where it looks like none, the fault that comes nearest; nil: none has anything in common
	Known   int        // how many faults it was compared with
}

// Of several faults that are likely those are named, mostLike at most, whose share is at least beside times that of the likest;
// where more have the same share, all of these.
const (
	mostLike = 3
	beside   = 0.75
)

// Looks compares a NO-GO with the faults of the table. It returns nil where a run is no NO-GO, or where no check of a standard
// suite failed, of which alone the table knows something.
func (t *Table) Looks(r *record.Result) *Looks {
	if r.Outcome != record.NoGo {
		return nil
	}
	return Among(t.Likenesses(r))
}

// Mark notes in a result that is not sealed yet what it looks like.
func (t *Table) Mark(r *record.Result) {
	r.LooksLike = nil
	l := Among(t.Likenesses(r))
	if l == nil {
		return
	}
	for i := range l.Like {
		x := &l.Like[i]
		r.LooksLike = append(r.LooksLike, record.Like{
			Board: x.Fault.Board, Fault: x.Fault.Name, Says: x.Fault.Sentence(), Common: x.Common, Failed: x.Failed, Share: signal.Round(x.Share, 4),
		})
	}
}

// Among returns what a NO-GO looks like that is as like to faults as these say, the likest first.
func Among(all []Likeness) *Looks {
	if len(all) == 0 || all[0].Failed == 0 {
		return nil
	}
	l := &Looks{Known: len(all)}
	for i := range all {
		one := &all[i]
		if !one.Near || len(l.Like) > 0 && one.Share < beside*l.Like[0].Share {
			continue
		}
		same := len(l.Like) > 0 && one.Share == l.Like[0].Share
		if len(l.Like) < mostLike || same {
			l.Like = append(l.Like, *one)
			l.Alike = len(l.Like) > mostLike
		}
	}
	if len(l.Like) == 0 && all[0].Common > 0 {
		l.Nearest = &all[0]
	}
	return l
}

// Lines says in sentences what a NO-GO looks like; nil says nothing.
func (l *Looks) Lines() []string {
	switch {
	case l == nil:
		return nil
	case l.Nearest != nil:
		return []string{fmt.Sprintf("looks like none of the %d seeded faults; the nearest is %s", l.Known, l.Nearest)}
	case len(l.Like) == 0:
		return []string{fmt.Sprintf("looks like none of the %d seeded faults", l.Known)}
	}
	if l.Alike {
		var like []*Fault
		for i := range l.Like {
			like = append(like, l.Like[i].Fault)
		}
		return []string{fmt.Sprintf("looks like any of %d seeded faults, which what failed and passed does not tell apart: %s", len(like), Names(like, mostAlike)), Caution}
	}
	lines := []string{"looks like " + l.Like[0].String()}
	for i := range l.Like[1:] {
		lines = append(lines, "or like "+l.Like[i+1].String())
	}
	return append(lines, Caution)
}

// mostAlike is how many are named of faults that the pattern does not tell apart.
const mostAlike = 6

// Caution stands beside what a run looks like.
const Caution = "this is a likeness by the pattern of failed, passed and open checks and proves nothing: another mistake can look the same, and of a board that is none of the built-in ones often does"

// String names the fault, says what it is, and what the run has in common with it.
func (l *Likeness) String() string {
	title := l.Fault.Title()
	if says := l.Fault.Sentence(); says != "" {
		title += " (" + strings.TrimSuffix(says, ".") + ")"
	}
	return fmt.Sprintf("%s: %d of %s in common", title, l.Common, report.Count(l.Failed, "failed check"))
}

// Sentence says what a board with the fault does wrong; empty where this program has no such fault.
func (f *Fault) Sentence() string {
	if f.Board == "built-in" {
		for _, known := range board.Faults() {
			if known.Name == f.Name {
				return known.Sentence
			}
		}
	}
	for _, known := range moment.Faults() {
		if f.Board == "built-in/moment" && known.Name == f.Name {
			return known.Sentence
		}
	}
	return ""
}
