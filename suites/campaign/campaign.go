package campaign

import (
	"context"
	"errors"
	"fmt"
	"runtime"
	"sync"

	"hilrig/rig/process"
	"hilrig/rig/signal"
	"hilrig/suites"
	"hilrig/suites/record"
	"hilrig/suites/report"
)

// Progress is how far a campaign has come.
type Progress struct {
	Done, Boards int         // boards that are done, of so many
	Driving      signal.Time // played to the boards that are done
	Board, Suite string      // a suite that ended just now, and on which board
}

// Words says how far it has come, after so many s, and about how long it still takes from when a quarter of the boards is
// done, for those come first that take longest.
func (p *Progress) Words(took float64) string {
	line := fmt.Sprintf("%d of %s", p.Done, report.Count(p.Boards, "board"))
	if p.Done > 0 && 4*p.Done >= p.Boards && p.Done < p.Boards {
		line += "  " + report.AboutLeft(took/float64(p.Done)*float64(p.Boards-p.Done))
	}
	return fmt.Sprintf("%s  %.0f s driven  %s: %s", line, p.Driving.Seconds(), p.Board, p.Suite)
}

// campaign plays suites to many boards, as many side by side as there are cores.
type campaign struct {
	boards   int            // in all
	progress func(Progress) // nil tells nobody; calls do not overlap

	mu      sync.Mutex
	done    int         // boards
	driving signal.Time // of all that was played
}

// each calls play with the numbers of so many boards, side by side. Its error is that of files
// that are wrong or of the first bench that failed; a campaign that was stopped has none.
func (v *campaign) each(boards int, play func(i int) error) error {
	failures := make([]error, boards)
	limit := make(chan struct{}, runtime.NumCPU())
	var wait sync.WaitGroup
	for i := range boards {
		limit <- struct{}{}
		wait.Go(func() {
			failures[i] = play(i)
			<-limit
		})
	}
	wait.Wait()
	for _, err := range failures {
		if err != nil {
			return err // what is wrong with a file is so for every board
		}
	}
	return nil
}

// play plays the suites of a setup. The result of one that was stopped says so
// in its Why, and that of a board that is another program how that failed.
func (v *campaign) play(ctx context.Context, setup *suites.Setup, options suites.Options) (*record.Result, error) {
	options.Progress = func(p suites.Progress) { v.tell(setup.Board, p) }
	result, driving, err := setup.Run(ctx, options)
	switch {
	case result == nil:
		return nil, err
	case err == nil:
	case ctx.Err() != nil:
		result.Why = record.Stopped
		result.Seal()
	default:
		failed, is := errors.AsType[*process.Error](err)
		if !is {
			return nil, fmt.Errorf("%s: %w", setup.Board, err)
		}
		result.Why = failed.Error()
		result.Seal()
	}
	v.mu.Lock()
	defer v.mu.Unlock()
	v.driving += driving
	return result, nil
}

// end counts a board that is done.
func (v *campaign) end() {
	v.mu.Lock()
	defer v.mu.Unlock()
	v.done++
}

// tell tells how far the campaign has come.
func (v *campaign) tell(board string, p suites.Progress) {
	if p.Suite == "" || v.progress == nil {
		return // nothing has ended yet, or nobody asks
	}
	v.mu.Lock()
	defer v.mu.Unlock()
	v.progress(Progress{Done: v.done, Boards: v.boards, Driving: v.driving, Board: board, Suite: p.Suite})
}

// site is where a check stands.
type site struct {
	file, suite          string
	name, variant, check string
	line                 int // of the expectation
}

// each calls do with each check of a suite that has a verdict, in plan order.
func each(s *record.Suite, verdict string, do func(site)) {
	for i := range s.Cases {
		eachOf(s.File, s.Name, &s.Cases[i], verdict, do)
	}
}

// eachOf calls do with each check of a case that has a verdict, in plan order.
func eachOf(file, suite string, c *record.Case, verdict string, do func(site)) {
	for i := range c.Checks {
		if c.Checks[i].Verdict == verdict {
			do(site{file, suite, c.Name, c.Variant, c.Checks[i].Name, c.Checks[i].Line})
		}
	}
}
