package main

import (
	"errors"
	"fmt"
	"slices"
	"time"

	"github.com/spf13/cobra"

	"hilrig/suites/campaign"
	"hilrig/suites/report/faults"
	"hilrig/suites/standard"
)

// writeTable plays standard suites, the signs of life too, to each seeded fault and writes the table of what fails with it.
// Of suites that are not named the file keeps what it has.
func (f *faultsFlags) writeTable(c *cobra.Command, args []string) error {
	own := slices.ContainsFunc(args, func(name string) bool { return !slices.Contains(standard.Names(), name) })
	if f.null || f.json || f.board != "" || f.car != "" || f.bench != "" || own {
		return errors.New("faults: --table plays standard suites to both built-in boards with their own cars; leave out the rest")
	}
	older, err := &faults.Table{}, error(nil)
	if len(args) == 0 {
		args = standard.Names()
	} else if older, err = faults.ReadFile(f.table); err != nil {
		return err
	}
	files, err := f.filesOf(campaign.Boards(), append([]string{standard.Life}, args...))
	if err != nil {
		return err
	}
	line, began := progressOn(c.ErrOrStderr()), time.Now()
	made, err := campaign.RunTable(c.Context(), files, func(p campaign.Progress) {
		line.show(func() string {
			return fmt.Sprintf("%d of %s  %s  %s: %s", p.Done, count(p.Boards, "board"), aboutLeft(p.Left(time.Since(began))), p.Board, p.Suite)
		})
	})
	line.wipe()
	if err != nil {
		return err
	}
	made.Keep(older)
	return writeTo(f.table, c.OutOrStdout(), made.Write)
}
