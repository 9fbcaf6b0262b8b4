package assertions

// Verdict is what a check came to.
type Verdict uint8

// The verdicts.
const (
	Pass Verdict = iota
	Fail
	Undecided // not a pass; Result.Why says what would decide it
	NotAsked  // the policy leaves the key out
)

var verdictNames = [...]string{"pass", "fail", "undecided", "not asked"}

// String returns the verdict's word.
func (v Verdict) String() string { return verdictNames[v] }

// severity orders the verdicts for Worst.
var severity = map[Verdict]int{NotAsked: 0, Pass: 1, Undecided: 2, Fail: 3}

// Worst returns the worst verdict of results: fail before undecided before
// pass before not asked. Of no results it is NotAsked.
func Worst(results []Result) Verdict {
	worst := NotAsked
	for i := range results {
		if severity[results[i].Verdict] > severity[worst] {
			worst = results[i].Verdict
		}
	}
	return worst
}
