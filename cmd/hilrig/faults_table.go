package main

import (
	"errors"
	"fmt"
	"time"

	"github.com/spf13/cobra"

	"hilrig/suites/campaign"
	"hilrig/suites/standard"
)

// writeTable plays all standard suites, the signs of life too, to each seeded fault and writes the table of what fails with it.
func (f *faultsFlags) writeTable(c *cobra.Command, args []string) error {
	if f.null || f.json || f.board != "" || f.car != "" || f.bench != "" || len(args) > 0 {
		return errors.New("faults: --table plays all standard suites to both built-in boards with their own cars; leave out the rest")
	}
	files, err := f.filesOf(campaign.Boards(), append([]string{standard.Life}, standard.Names()...))
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
	return writeTo(f.table, c.OutOrStdout(), made.Write)
}
