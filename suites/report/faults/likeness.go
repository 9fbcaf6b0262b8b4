package faults

import (
	"cmp"
	"slices"

	"hilrig/suites/record"
)

// Likeness is how much the pattern of a run looks like that of a seeded fault.
type Likeness struct {
	Fault *Fault
	// Common of the Failed checks of the run's standard suites fail with the fault too, in their situation.
	Common, Failed int
	// Share is how much of what is no pass in the run or with the fault is so in both, from 0 to 1: a mean of how much it is
	// check by check, case by case and suite by suite.
	Share float64
	// Near says that the share is so high that the fault is likely.
	Near bool
}

// A run under the policy of the table's board has the fault's own pattern where it has the fault, and what shares less is
// another one: seeded faults of one board share up to 0.71, but for five pairs of which each is nearly the other. Under another
// policy fewer checks are the same ones, and the same mistake shares as little as 0.3, where most others stay below. Between the
// two the share that is needed goes along a line over how much of what was judged is known from the board.
const (
	nearAlike, nearOther   = 0.75, 0.3
	knownAlike, knownOther = 1.0, 0.9
)

// needed returns the share that is needed where so much of what was judged is known.
func needed(known float64) float64 {
	along := (known - knownOther) / (knownAlike - knownOther)
	return nearOther + min(max(along, 0), 1)*(nearAlike-nearOther)
}

// Likenesses compares a run with each fault of the table, the likest first.
func (t *Table) Likenesses(r *record.Result) (all []Likeness) {
	n := newNumbering()
	run := n.pattern(n.take(nil, VerdictsOf(r)))
	judged := n.variants.worst(run.checks)
	speeds := n.alongSpeeds()
	for _, b := range t.Boards {
		board := n.take(nil, b.Sound)
		need := needed(knows(board, run.checks))
		for _, f := range b.Faults {
			with := n.pattern(n.where(judged, n.take(board, f.Unmet)))
			l := Likeness{Fault: f}
			l.count(run, with, n)
			l.Near = l.Common > 0 && l.Share >= need && agreeAtAllSpeeds(run, with, speeds)
			all = append(all, l)
		}
	}
	slices.SortStableFunc(all, func(a, b Likeness) int {
		return cmp.Or(cmp.Compare(b.Share, a.Share), cmp.Compare(b.Common, a.Common))
	})
	return all
}

// knows returns how much of what was judged in a run is judged on the board too, from 0 to 1.
func knows(board, run []float64) float64 {
	known, judged := 0, 0
	for i, g := range run {
		if g == notJudged {
			continue
		}
		judged++
		if in(board, i) != notJudged {
			known++
		}
	}
	return float64(known) / float64(max(1, judged))
}

// count counts what the run has in common with the fault.
func (l *Likeness) count(run, with *pattern, n *numbering) {
	l.Share = n.alike(run, with)
	for i, g := range run.checks {
		if g != failed {
			continue
		}
		l.Failed++
		if in(with.situations, n.situations.of[i]) == failed {
			l.Common++
		}
	}
}
