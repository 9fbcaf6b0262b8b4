package main

import (
	"fmt"
	"slices"

	"hilrig/rig/board"
	"hilrig/suites/file"
	"hilrig/suites/record"
)

// The verdicts on a seeded fault.
const (
	found    = "found"
	notFound = "not found"
	// record.NotAsked: the policy has no key that makes it a fault.
	// record.NotRun: the survey was stopped before.
)

// faultsFound is what suites find of the seeded faults.
type faultsFound struct {
	Outcome string       `json:"outcome"`
	Healthy string       `json:"healthy"` // the outcome of the board without a fault
	Faults  []faultFound `json:"faults"`
}

// faultFound is what suites find of one seeded fault.
type faultFound struct {
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

// faultsOf reads a survey of the board without a fault and those with one.
func faultsOf(v *survey) (*faultsFound, error) {
	car, err := file.ParseCar(v.files.Car)
	if err != nil {
		return nil, err
	}
	healthy := v.results[0]
	known := map[site]bool{}
	eachFail(healthy, func(at site) { known[at] = true })
	all := &faultsFound{Healthy: healthy.Outcome}
	for i, fault := range board.Faults() {
		f := faultFound{Name: fault.Name, Sentence: fault.Sentence, Key: fault.Key}
		r := v.results[i+1]
		eachFail(r, func(at site) {
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
			f.Verdict = found
		case r.Why != "":
			f.Verdict = record.NotRun
		case !slices.Contains(car.Asked, fault.Key):
			f.Verdict = record.NotAsked
		default:
			f.Verdict = notFound
		}
		all.Faults = append(all.Faults, f)
	}
	all.Outcome = all.outcome()
	return all, nil
}

// site is where in a result a check stands.
type site struct {
	suite                int
	name, variant, check string
	line                 int // of the expectation
}

// eachFail calls do with each check that failed, in plan order.
func eachFail(r *record.Result, do func(site)) { each(r, record.Fail, do) }

// each calls do with each check that has a verdict, in plan order.
func each(r *record.Result, verdict string, do func(site)) {
	for i := range r.Suites {
		for j := range r.Suites[i].Cases {
			c := &r.Suites[i].Cases[j]
			for k := range c.Checks {
				if c.Checks[k].Verdict == verdict {
					do(site{i, c.Name, c.Variant, c.Checks[k].Name, c.Checks[k].Line})
				}
			}
		}
	}
}

// tally counts the faults with a verdict.
func (a *faultsFound) tally(verdict string) int {
	n := 0
	for i := range a.Faults {
		if a.Faults[i].Verdict == verdict {
			n++
		}
	}
	return n
}

// outcome implements surveyed.
func (a *faultsFound) outcome() string {
	switch {
	case a.tally(notFound) > 0, a.Healthy == record.NoGo:
		return record.NoGo
	case a.tally(record.NotRun) > 0, a.tally(found) == 0, a.Healthy != record.Go:
		return record.NotShown
	}
	return record.Go
}

// print implements surveyed.
func (a *faultsFound) print(s *screen) {
	names, keys, checks := []string{"fault"}, []string{"policy key"}, []string{"checks"}
	for i := range a.Faults {
		f := &a.Faults[i]
		names, keys, checks = append(names, f.Name), append(keys, f.Key), append(checks, digits(f.Checks))
	}
	wide := widest(record.NotAsked, notFound)
	fmt.Fprintf(s, "%s  %s  %s  %s  %s\n", pad(names[0], widest(names...)), pad(keys[0], widest(keys...)), pad("", wide), checks[0], "found first by")
	for i := range a.Faults {
		f := &a.Faults[i]
		row := fmt.Sprintf("%s  %s  %s", pad(f.Name, widest(names...)), pad(f.Key, widest(keys...)), s.verdict(f.Verdict, wide))
		if f.Checks > 0 {
			row += fmt.Sprintf("  %s  %s: %s: %s", padLeft(digits(f.Checks), widest(checks...)), f.Suite, f.Case, f.Check)
		}
		fmt.Fprintln(s, row)
	}
	fmt.Fprintf(s, "\n%s  %s\n", s.verdict(a.Outcome, 0), a.summary())
}

// summary says in a line what the outcome rests on.
func (a *faultsFound) summary() string {
	text := fmt.Sprintf("%d of %s found", a.tally(found), count(len(a.Faults), "fault"))
	if n := a.tally(notFound); n > 0 {
		text += fmt.Sprintf(", %d not found", n)
	}
	if n := a.tally(record.NotAsked); n > 0 {
		text += fmt.Sprintf(", %d not asked", n)
	}
	if n := a.tally(record.NotRun); n > 0 {
		text += fmt.Sprintf(", %d not run: %s", n, stopped)
	}
	return text + "; the board without a fault is " + a.Healthy
}
