package campaign

import (
	"cmp"
	"context"
	"errors"
	"fmt"
	"runtime"
	"slices"
	"strconv"

	"hilrig/rig/signal"
	"hilrig/suites"
	"hilrig/suites/file"
	"hilrig/suites/parts"
	"hilrig/suites/record"
)

// The verdicts on a seeded fault.
const (
	Found    = "found"
	NotFound = "not found"
	// Harmless means that nothing failed on a fault with which the board is right, and FalseAlarm
	// that something did.
	Harmless   = "harmless"
	FalseAlarm = "false alarm"
	// BrokeOff means that no check failed before the board itself did, which is another program.
	BrokeOff = "broke off"
	// record.NotAsked means that the policy has no key that makes it a fault, or that no suite asks for
	// what it changes, as the fault then says; record.NotRun that the campaign was stopped before.
)

// Faults is what suites find of the seeded faults.
type Faults struct {
	Driving signal.Time `json:"-"`       // played to all boards together
	Outcome string      `json:"outcome"` // "GO": all were found that have to be, and nothing else failed; or "NO-GO", "NOT SHOWN", "PART"
	Boards  []Healthy   `json:"boards"`
	Faults  []Fault     `json:"faults"`
	Part    *Part       `json:"part,omitempty"` // which part this is of work that was split; absent: it is all
}

// Healthy is what suites say of a board without a fault.
type Healthy struct {
	Name    string `json:"board"`   // of the board, without a fault
	Outcome string `json:"outcome"` // of the suites on it
}

// Fault is what suites find of one seeded fault.
type Fault struct {
	Seeded
	Verdict string `json:"verdict"` // "found", "not found", "not asked", "harmless", "false alarm", "broke off" or "not run"
	Checks  int    `json:"checks"`  // of the case that found it: those that failed, and did not on the board without a fault
	// Where and what found it first; empty where nothing did.
	Suite   string `json:"suite,omitempty"`
	Case    string `json:"case,omitempty"`    // that found it
	Variant string `json:"variant,omitempty"` // of that case
	Check   string `json:"check,omitempty"`   // that found it
	Why     string `json:"why,omitempty"`     // how the board failed
}

// RunFaults plays the suites of each subject to its board: to the board
// without a fault all of them, and then to the board with each of its faults one by one until
// a case of one finds it, in the order of [playing]. To one that shows only after minutes the suite standard.Soak is played in the place of all standard
// ones. One that need not be found is played to suites of the owner's own alone. The progress, nil where
// nobody wants it, is reported in calls that do not overlap. An error is that of files that
// are wrong, of a program that cannot be started or of a bench that failed; where the context ends, the
// faults say so, and where a program fails that is the board with a fault, that fault does.
// Of a split one part of the faults is played alone, and the outcome is [record.PartEnded] where it ends; the zero Split is all.
func RunFaults(ctx context.Context, subjects []Subject, split parts.Split, progress func(Progress)) (*Faults, error) {
	v := &campaign{progress: progress}
	all := &Faults{}
	here, err := all.take(subjects, split)
	if err != nil {
		return nil, err
	}
	var hunts []hunt
	for i := range subjects {
		v.boards += 1 + here[i].count()
	}
	all.Boards = make([]Healthy, len(subjects))
	knowns := make([]map[site]bool, len(subjects))
	err = v.each(len(subjects), func(i int) (err error) {
		s := &subjects[i]
		late := false
		for k := range s.faults {
			late = late || here[i][k] && soaks(&s.faults[k], &s.healthy)
		}
		all.Boards[i], knowns[i], err = v.healthy(ctx, s, late)
		return err
	})
	if err != nil {
		return nil, err
	}
	for i := range subjects {
		s := &subjects[i]
		for k, fault := range s.faults {
			if here[i][k] {
				hunts = append(hunts, hunt{files: s.hunted(&fault), known: knowns[i], fault: Fault{Seeded: fault}})
			}
		}
	}
	order := make([]*hunt, len(hunts))
	for i := range hunts {
		order[i] = &hunts[i]
	}
	slices.SortStableFunc(order, func(a, b *hunt) int { return cmp.Compare(rank(&a.fault.Seeded), rank(&b.fault.Seeded)) })
	err = v.each(len(order), func(i int) error { return v.hunt(ctx, order[i]) })
	if err != nil {
		return nil, err
	}
	for i := range hunts {
		all.Faults = append(all.Faults, hunts[i].fault)
	}
	all.Driving = v.driving
	all.seal()
	return all, nil
}

// rank puts the faults first that take longest: those that show late, and those to which everything is played.
func rank(f *Seeded) int {
	switch {
	case f.Late:
		return 0
	case f.Harmless != "":
		return 1
	}
	return 2
}

// healthy plays all suites to a board without a fault, where faults are late the long one too, and returns which checks
// fail on it all the same.
func (v *campaign) healthy(ctx context.Context, s *Subject, late bool) (Healthy, map[site]bool, error) {
	files := s.healthy
	if late {
		files = andSoaking(files)
	}
	setup, err := suites.Load(files)
	if err != nil {
		return Healthy{}, nil, err
	}
	result, err := v.play(ctx, setup, suites.Options{Workers: runtime.NumCPU()})
	if err != nil {
		return Healthy{}, nil, err
	}
	if result.Why != "" && result.Why != record.Stopped {
		return Healthy{}, nil, fmt.Errorf("%s without a fault: %s", s.name, result.Why)
	}
	known := map[site]bool{}
	for i := range result.Suites {
		each(&result.Suites[i], record.Fail, func(at site) { known[at] = true })
	}
	v.end()
	return Healthy{s.name, result.Outcome}, known, nil
}

// hunt is a seeded fault that suites are to find.
type hunt struct {
	files suites.Files
	known map[site]bool // what fails without the fault too
	fault Fault
}

// hunt plays suites to a board with a fault, one by one until a case finds it, and gives the verdict.
func (v *campaign) hunt(ctx context.Context, h *hunt) error {
	if ctx.Err() != nil { // whoever stopped a campaign waits for its end, so that nothing is planned any more
		h.fault.Verdict = record.NotRun
		return nil
	}
	defer v.end()
	setup, err := suites.Load(h.files)
	if err != nil {
		return err
	}
	for _, suite := range playing(setup, &h.fault.Seeded) {
		one := *setup
		one.Suites = []*file.Suite{suite}
		result, err := v.playUntilFound(ctx, &one, h)
		if errors.Is(err, suites.ErrNothingToRun) {
			continue // the others ask something, or the board without a fault would not have been played
		}
		if err != nil {
			return err
		}
		stopped := ctx.Err() != nil && result.Why == record.Stopped
		if h.fault.Checks > 0 || stopped {
			h.fault.Verdict = h.verdict(stopped, setup.Car)
			return nil
		}
		h.fault.Why = cmp.Or(h.fault.Why, result.Why) // the next suite has a program of its own
	}
	h.fault.Verdict = h.verdict(false, setup.Car)
	return nil
}

// playUntilFound plays the one suite of a setup until a case finds the fault.
func (v *campaign) playUntilFound(ctx context.Context, setup *suites.Setup, h *hunt) (*record.Result, error) {
	ctx, cancel := context.WithCancel(ctx)
	defer cancel()
	suite := setup.Suites[0]
	return v.play(ctx, setup, suites.Options{Workers: 1, Case: func(_, _ int, c record.Case) {
		if h.look(suite.Source.Path, suite.Name, &c) {
			cancel()
		}
	}})
}

// look notes what of a case that was played failed for the fault, where none did before, and says whether one did.
func (h *hunt) look(file, suite string, c *record.Case) bool {
	f := &h.fault
	if f.Checks > 0 {
		return true
	}
	eachOf(file, suite, c, record.Fail, func(at site) {
		if h.known[at] {
			return
		}
		if f.Checks == 0 {
			f.Suite, f.Case, f.Variant, f.Check = at.suite, at.name, at.variant, at.check
		}
		f.Checks++
	})
	if f.Checks > 0 {
		f.Why = ""
	}
	return f.Checks > 0
}

// verdict says what came of the fault.
func (h *hunt) verdict(stopped bool, car *file.Car) string {
	f := &h.fault
	switch {
	case f.Checks > 0 && f.Harmless != "":
		return FalseAlarm
	case f.Checks > 0:
		return Found
	case stopped:
		return record.NotRun
	case f.Why != "":
		return BrokeOff
	case f.Harmless != "":
		return Harmless
	case f.Unasked != "" || f.Key != "" && !slices.Contains(car.Asked, f.Key):
		return record.NotAsked
	}
	return NotFound
}

// FoundBy says how many checks found the fault and which was the first; or, with no number, why none had to or could.
func (f *Fault) FoundBy() (checks, by string) {
	switch {
	case f.Checks > 0:
		return strconv.Itoa(f.Checks), fmt.Sprintf("%s: %s: %s", f.Suite, f.Case, f.Check)
	case f.Why != "":
		return "", "nothing: " + f.Why
	case f.Harmless != "":
		return "", "nothing: " + f.Harmless
	case f.Verdict == record.NotAsked && f.Unasked != "":
		return "", "nothing: " + f.Unasked
	}
	return "", ""
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
	failed := func(b Healthy) bool { return b.Outcome == record.NoGo }
	notGo := func(b Healthy) bool { return b.Outcome != record.Go }
	switch {
	case a.Tally(NotFound) > 0, a.Tally(FalseAlarm) > 0, slices.ContainsFunc(a.Boards, failed):
		return record.NoGo
	case a.Tally(record.NotRun) > 0, a.Tally(BrokeOff) > 0, a.Tally(Found) == 0, slices.ContainsFunc(a.Boards, notGo):
		return record.NotShown
	}
	return record.Go
}
