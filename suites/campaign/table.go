package campaign

import (
	"context"
	"fmt"
	"runtime"

	"hilrig/suites"
	"hilrig/suites/record"
	"hilrig/suites/report/faults"
)

// RunTable plays the suites of each of files to the built-in board that it names, to the board without
// a fault and with each fault that can be seeded into it, all suites to the end, and returns what came of it. The
// board without a fault has to be GO, or the table would blame faults for what fails anyway. A context that ends
// is an error: of a table that is not whole nothing is returned. The rest is as with [RunFaults].
func RunTable(ctx context.Context, files []suites.Files, progress func(Progress)) (*faults.Table, error) {
	v := &campaign{progress: progress}
	for _, f := range files {
		v.boards += 1 + len(SeededInto(f.Board))
	}
	table := &faults.Table{}
	for _, f := range files {
		board, err := v.tableOf(ctx, f)
		if err != nil {
			return nil, err
		}
		table.Boards = append(table.Boards, board)
	}
	return table, nil
}

// tableOf plays the suites to one built-in board and to it with each fault.
func (v *campaign) tableOf(ctx context.Context, files suites.Files) (*faults.Board, error) {
	result, err := v.whole(ctx, files, runtime.NumCPU())
	if err != nil {
		return nil, err
	}
	if result.Outcome != record.Go {
		return nil, fmt.Errorf("%s without a fault is %s and has to be GO; hilrig run --board %s shows why", files.Board, result.Outcome, files.Board)
	}
	board := faults.Sound(files.Board, result)
	seeded := SeededInto(files.Board)
	results := make([]*record.Result, len(seeded))
	err = v.each(len(seeded), func(i int) (err error) {
		one := files
		one.Board += ":" + seeded[i].Name
		results[i], err = v.whole(ctx, one, 1)
		return err
	})
	if err != nil {
		return nil, err
	}
	for i, f := range seeded {
		board.Add(f.Name, results[i])
	}
	return board, nil
}

// whole plays all suites to a board, so many side by side. A context that ends is an error.
func (v *campaign) whole(ctx context.Context, files suites.Files, workers int) (*record.Result, error) {
	defer v.end()
	if err := ctx.Err(); err != nil {
		return nil, err
	}
	setup, err := suites.Load(files)
	if err != nil {
		return nil, err
	}
	result, err := v.play(ctx, setup, suites.Options{Workers: workers})
	if err == nil {
		err = ctx.Err()
	}
	return result, err
}
