package campaign

import (
	"context"
	"fmt"
	"runtime"
	"sync"

	"hilrig/rig/signal"
	"hilrig/suites"
	"hilrig/suites/record"
)

// Progress is how far a campaign has come.
type Progress struct {
	Done, Boards int         // boards that are done, of so many
	Driving      signal.Time // played to the boards that are done
	Board, Suite string      // a suite that ended just now, and on which board
}

// campaign plays the same suites to many boards, as many side by side as there
// are cores.
type campaign struct {
	files    suites.Files
	boards   []string
	results  []*record.Result // in the order of boards; those of a stopped campaign say so
	progress func(Progress)   // nil tells nobody; calls do not overlap

	mu      sync.Mutex
	done    int         // boards
	driving signal.Time // of boards that are done
}

// run plays everything. Its error is that of files that are wrong or of the first
// bench that failed; a campaign that was stopped has none.
func (v *campaign) run(ctx context.Context) error {
	v.results = make([]*record.Result, len(v.boards))
	failures := make([]error, len(v.boards))
	limit := make(chan struct{}, runtime.NumCPU())
	var wait sync.WaitGroup
	for i := range v.boards {
		limit <- struct{}{}
		wait.Go(func() {
			failures[i] = v.board(ctx, i)
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

// board plays the suites to one board.
func (v *campaign) board(ctx context.Context, i int) error {
	files := v.files
	files.Board = v.boards[i]
	setup, err := suites.Load(files)
	if err != nil {
		return err
	}
	result, driving, err := setup.Run(ctx, suites.Options{Progress: func(p suites.Progress) { v.tell(i, p) }})
	switch {
	case result == nil:
		return err
	case err != nil && ctx.Err() == nil:
		return fmt.Errorf("%s: %w", files.Board, err)
	case err != nil:
		result.Why = record.Stopped
		result.Seal()
	}
	v.results[i] = result
	v.mu.Lock()
	defer v.mu.Unlock()
	v.done++
	v.driving += driving
	return nil
}

// tell tells how far the campaign has come.
func (v *campaign) tell(i int, p suites.Progress) {
	if p.Suite == "" || v.progress == nil {
		return // nothing has ended yet, or nobody asks
	}
	v.mu.Lock()
	defer v.mu.Unlock()
	v.progress(Progress{Done: v.done, Boards: len(v.boards), Driving: v.driving, Board: v.boards[i], Suite: p.Suite})
}

// site is where in a result a check stands.
type site struct {
	suite                int
	name, variant, check string
	line                 int // of the expectation
}

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
