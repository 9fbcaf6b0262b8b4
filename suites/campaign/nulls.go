package campaign

import (
	"context"

	"hilrig/rig/board"
	"hilrig/rig/signal"
	"hilrig/suites"
	"hilrig/suites/record"
)

// mayPass is the file of the standard suite that a board may pass that controls
// nothing: it asks when a board answers and not what.
const mayPass = "standard/timing.yaml"

// Nulls is what suites say of the boards that control nothing.
type Nulls struct {
	Driving signal.Time `json:"-"`             // played to all boards together
	Outcome string      `json:"outcome"`       // "GO": no board got through a suite that it may not pass; or "NO-GO", "NOT SHOWN"
	Why     string      `json:"why,omitempty"` // why the boards were not played to the end
	Boards  []string    `json:"boards"`        // the kinds of boards that control nothing
	Suites  []NullSuite `json:"suites"`
	// PassedByAll are the checks that pass on every one of the boards, those of
	// one name in one case put together.
	PassedByAll []CommonPass `json:"passed_by_all"`
}

// CommonPass is a check that says nothing by itself.
type CommonPass struct {
	Suite  string `json:"suite"`  // the file of the suite
	Case   string `json:"case"`   // its name
	Check  string `json:"check"`  // its name
	Checks int    `json:"checks"` // how many of that name in the case
}

// NullSuite is what one suite says of them.
type NullSuite struct {
	Name    string        `json:"name"`               // as its file gives it
	File    string        `json:"file"`               // its path; standard/NAME.yaml of a standard suite
	MayPass bool          `json:"may_pass,omitempty"` // the suite asks nothing that a board without control would get wrong
	Boards  []NullVerdict `json:"boards"`             // in the order of boards
}

// NullVerdict is what one suite says of one board.
type NullVerdict struct {
	Verdict string        `json:"verdict"` // the worst of its checks
	Counts  record.Counts `json:"counts"`
}

// RunNulls plays the suites of files to each board that controls nothing. The rest is as
// with [RunFaults].
func RunNulls(ctx context.Context, files suites.Files, progress func(Progress)) (*Nulls, error) {
	v := &campaign{boards: len(board.Kinds), progress: progress}
	results := make([]*record.Result, v.boards)
	err := v.each(v.boards, func(i int) error {
		defer v.end()
		one := files
		one.Board = "null:" + string(board.Kinds[i])
		setup, err := suites.Load(one)
		if err == nil {
			results[i], err = v.play(ctx, setup, suites.Options{Workers: 1})
		}
		return err
	})
	if err != nil {
		return nil, err
	}
	all := nullsOf(results)
	all.Driving = v.driving
	return all, nil
}

// nullsOf reads the results of the boards that control nothing, in the order of their kinds.
func nullsOf(results []*record.Result) *Nulls {
	all := &Nulls{PassedByAll: []CommonPass{}}
	for i := range results {
		all.Boards = append(all.Boards, string(board.Kinds[i]))
	}
	for i := range results[0].Suites {
		first := &results[0].Suites[i]
		suite := NullSuite{Name: first.Name, File: first.File, MayPass: first.File == mayPass}
		for _, r := range results {
			suite.Boards = append(suite.Boards, NullVerdict{r.Suites[i].Counts.Worst(), r.Suites[i].Counts})
		}
		all.Suites = append(all.Suites, suite)
	}
	for _, r := range results {
		if r.Why != "" {
			all.Why = r.Why
		}
	}
	all.findPassed(results)
	all.Outcome = all.outcome()
	return all
}

// outcome is what the verdicts come to: NO-GO where a suite passes that must not, NOT
// SHOWN where that is not decided.
func (a *Nulls) outcome() string {
	outcome := record.Go
	for i := range a.Suites {
		for _, b := range a.Suites[i].Boards {
			switch {
			case a.Suites[i].MayPass || b.Verdict == record.Fail:
			case b.Verdict == record.Pass:
				return record.NoGo
			default:
				outcome = record.NotShown
			}
		}
	}
	return outcome
}

// findPassed lists the checks that pass on every board.
func (a *Nulls) findPassed(results []*record.Result) {
	boards := map[site]int{}
	for _, r := range results {
		for i := range r.Suites {
			each(&r.Suites[i], record.Pass, func(at site) { boards[at]++ })
		}
	}
	place := map[CommonPass]int{}
	note := func(at site) {
		if boards[at] < len(results) {
			return
		}
		p := CommonPass{Suite: at.suite, Case: at.name, Check: at.check}
		i, known := place[p]
		if !known {
			i = len(a.PassedByAll)
			place[p] = i
			a.PassedByAll = append(a.PassedByAll, p)
		}
		a.PassedByAll[i].Checks++
	}
	for i := range results[0].Suites {
		each(&results[0].Suites[i], record.Pass, note)
	}
}
