package assertions

import "cmp"

// Verdict is what a check came to, by the word that users read and records keep.
type Verdict string

// The verdicts of checks.
const (
	Pass         Verdict = "pass"
	Fail         Verdict = "fail"
	Undecided    Verdict = "undecided" // not a pass; Result.Why says what would decide it
	NotAsked     Verdict = "not asked" // the policy leaves the key out
	MeasuredOnly Verdict = "measured"  // something was measured of which nothing was asked
)

// severity orders the verdicts. A word that is none counts as undecided.
var severity = map[Verdict]int{NotAsked: -3, MeasuredOnly: -2, Pass: -1, Undecided: 0, Fail: 1}

// Compare is below 0 where v is better than other, 0 where both are as good, and above 0
// where v is worse: fail is worse than undecided, that worse than pass, that than measured and that than not asked.
func (v Verdict) Compare(other Verdict) int { return cmp.Compare(severity[v], severity[other]) }

// Worse returns the worse of two verdicts, the first where both are as good.
func Worse(a, b Verdict) Verdict {
	if b.Compare(a) > 0 {
		return b
	}
	return a
}

// Worst returns the worst verdict of results, of none NotAsked.
func Worst(results []Result) Verdict {
	worst := NotAsked
	for i := range results {
		worst = Worse(worst, results[i].Verdict)
	}
	return worst
}
