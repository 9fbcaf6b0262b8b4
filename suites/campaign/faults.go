package campaign

import (
	"context"
	"slices"

	"hilrig/rig/board"
	"hilrig/rig/signal"
	"hilrig/suites"
	"hilrig/suites/file"
	"hilrig/suites/record"
)

// The verdicts on a seeded fault.
const (
	Found    = "found"
	NotFound = "not found"
	// record.NotAsked means that the policy has no key that makes it a fault, and
	// record.NotRun that the campaign was stopped before.
)

// Faults is what suites find of the seeded faults.
type Faults struct {
	Driving signal.Time `json:"-"` // played to all boards together
	Outcome string      `json:"outcome"`
	Healthy string      `json:"healthy"` // the outcome of the board without a fault
	Faults  []Fault     `json:"faults"`
}

// Fault is what suites find of one seeded fault.
type Fault struct {
	Name     string `json:"name"`
	Sentence string `json:"sentence"`
	Key      string `json:"key"` // of the policy
	Verdict  string `json:"verdict"`
	Checks   int    `json:"checks"` // that failed, and did not on the board without a fault
	// Where and what found it first; empty where nothing did.
	Suite   string `json:"suite,omitempty"`
	Case    string `json:"case,omitempty"`
	Variant string `json:"variant,omitempty"`
	Check   string `json:"check,omitempty"`
}

// Seeded lists the faults that a campaign seeds, in its order.
func Seeded() []board.Fault { return board.Faults() }

// builtIn is the board without a fault.
const builtIn = "built-in"

// RunFaults plays the suites of files to the built-in board without a fault and with each
// that can be seeded. The board that files names does not count. The progress, nil where
// nobody wants it, is told in calls that do not overlap. An error is that of files that
// are wrong or of a bench that failed; where the context ends, the faults say so.
func RunFaults(ctx context.Context, files suites.Files, progress func(Progress)) (*Faults, error) {
	v := &campaign{files: files, boards: []string{builtIn}, progress: progress}
	for _, fault := range Seeded() {
		v.boards = append(v.boards, builtIn+":"+fault.Name)
	}
	if err := v.run(ctx); err != nil {
		return nil, err
	}
	return faultsOf(v)
}

// faultsOf reads a campaign of the board without a fault and those with one.
func faultsOf(v *campaign) (*Faults, error) {
	car, err := file.ParseCar(v.files.Car)
	if err != nil {
		return nil, err
	}
	healthy := v.results[0]
	known := map[site]bool{}
	each(healthy, record.Fail, func(at site) { known[at] = true })
	all := &Faults{Healthy: healthy.Outcome, Driving: v.driving}
	for i, fault := range Seeded() {
		f := Fault{Name: fault.Name, Sentence: fault.Sentence, Key: fault.Key}
		r := v.results[i+1]
		each(r, record.Fail, func(at site) {
			if known[at] {
				return
			}
			if f.Checks == 0 {
				f.Suite, f.Case, f.Variant, f.Check = r.Suites[at.suite].Name, at.name, at.variant, at.check
			}
			f.Checks++
		})
		switch {
		case f.Checks > 0:
			f.Verdict = Found
		case r.Why != "":
			f.Verdict = record.NotRun
		case !slices.Contains(car.Asked, fault.Key):
			f.Verdict = record.NotAsked
		default:
			f.Verdict = NotFound
		}
		all.Faults = append(all.Faults, f)
	}
	all.Outcome = all.outcome()
	return all, nil
}

// Tally counts the faults with a verdict.
func (a *Faults) Tally(verdict string) int {
	n := 0
	for i := range a.Faults {
		if a.Faults[i].Verdict == verdict {
			n++
		}
	}
	return n
}

// outcome is what the verdicts come to.
func (a *Faults) outcome() string {
	switch {
	case a.Tally(NotFound) > 0, a.Healthy == record.NoGo:
		return record.NoGo
	case a.Tally(record.NotRun) > 0, a.Tally(Found) == 0, a.Healthy != record.Go:
		return record.NotShown
	}
	return record.Go
}
