package suites

import (
	"slices"

	"hilrig/assertions"
	"hilrig/rig"
	"hilrig/suites/record"
)

const (
	// mostAgain is how often a case is played again that the rig's own timing left
	// undecided.
	mostAgain = 2
	// spareTrials is which share of its trials a step has on top on a bench that is
	// not perfect, to stand in for those that cannot be used.
	spareTrials = 0.25
)

// perfect says whether the bench keeps time exactly.
func (s *Setup) perfect() bool { return s.real == nil && s.Bench.Timing.Perfect() }

// giveSpares gives the steps of trials more of them, for a bench that may invalidate some.
func (s *Setup) giveSpares() {
	for _, suite := range s.Suites {
		for i := range suite.Cases {
			steps := suite.Cases[i].Steps
			for j := range steps {
				if t := steps[j].Trials; t != nil {
					more := *t
					more.Count += max(1, int(spareTrials*float64(t.Count)))
					steps[j].Trials = &more
				}
			}
		}
	}
}

// invalidated says whether the rig's own timing may be what left a case undecided, so
// that playing it again may decide it.
func invalidated(e *assertions.Evidence, out *record.Case) bool {
	if out.Verdict != record.Undecided {
		return false
	}
	why, _ := e.Invalidated()
	return why != "" || slices.ContainsFunc(out.Checks, func(c record.Check) bool {
		return c.Verdict == record.Undecided && c.LeftOut > 0
	})
}

// timing returns how well the session's benches kept time; nil where they are perfect.
func (ses *session) timing(cases []record.Case) *record.Timing {
	if ses.setup.perfect() || ses.rig == nil {
		return nil
	}
	t := ses.rig.Timing()
	if ses.setup.real == nil && ses.noBoard != nil && ses.noBoard.rig != nil {
		other := ses.noBoard.rig.Timing()
		t.Add(&other)
	}
	out := &record.Timing{
		LatestNS: int64(t.Late), Late: t.LateCount, LateFloorNS: int64(rig.LateFloor),
		Edges: t.Gaps.Count(), LongestGapNS: int64(t.Gap), Uncertain: t.Uncertain, Settled: t.Settled,
		MedianGapNS: gap(&t, 0.5), Gap95NS: gap(&t, 0.95), Gap99NS: gap(&t, 0.99),
	}
	for i := range cases {
		out.Again += cases[i].Again
		for j := range cases[i].Checks {
			out.LeftOut += cases[i].Checks[j].LeftOut
		}
	}
	return out
}

// gap returns a quantile of the sampler's gaps, no longer than the longest.
func gap(t *rig.Timing, q float64) int64 {
	return int64(min(t.Gap, t.Gaps.Quantile(q)))
}
