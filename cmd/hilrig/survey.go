package main

import (
	"context"
	"fmt"
	"runtime"
	"sync"

	"hilrig/rig/signal"
	"hilrig/suites"
	"hilrig/suites/record"
)

// survey plays the same suites to many boards, as many side by side as there
// are cores.
type survey struct {
	files   suites.Files
	boards  []string
	results []*record.Result // in the order of boards; those of a stopped survey say so
	line    *progress

	mu      sync.Mutex
	done    int         // boards
	driving signal.Time // of boards that are done
}

// run plays everything. Its error is that of files that are wrong or of the first
// bench that failed; a survey that was stopped has none.
func (v *survey) run(ctx context.Context) error {
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
func (v *survey) board(ctx context.Context, i int) error {
	files := v.files
	files.Board = v.boards[i]
	setup, err := suites.Load(files)
	if err != nil {
		return err
	}
	result, driving, err := setup.Run(ctx, suites.Options{Progress: func(p suites.Progress) { v.show(i, p) }})
	if result == nil {
		return err
	}
	if result.Why = broken(ctx, err); result.Why != "" {
		result.Seal()
		if result.Why != stopped {
			return fmt.Errorf("%s: %w", files.Board, err)
		}
	}
	v.results[i] = result
	v.mu.Lock()
	defer v.mu.Unlock()
	v.done++
	v.driving += driving
	return nil
}

// show tells how far the survey has come.
func (v *survey) show(i int, p suites.Progress) {
	if p.Suite == "" {
		return // nothing has ended yet
	}
	v.mu.Lock()
	defer v.mu.Unlock()
	v.line.show(func() string {
		return fmt.Sprintf("%d of %s  %.0f s driven  %s: %s", v.done, count(len(v.boards), "board"), v.driving.Seconds(), v.boards[i], p.Suite)
	})
}
