package main

import (
	"io"

	"github.com/spf13/cobra"

	"hilrig/suites"
	"hilrig/suites/record"
	"hilrig/suites/report"
	"hilrig/suites/report/faults"
	"hilrig/suites/report/page"
)

// writePage writes a record as one HTML page into the file at path.
func writePage(c *cobra.Command, path string, r *record.Record, board boardCommand) error {
	p := page.Of(r, page.Settings{Faults: faults.Known()})
	if err := playMoments(c, r, p, board); err != nil {
		if c.Context().Err() != nil {
			return c.Context().Err()
		}
		p.NotReplayed(err)
	}
	return writeTo(path, c.OutOrStdout(), func(w io.Writer) error { return p.Write(w) })
}

// playMoments plays again what the page shows frame by frame, where the record is of a simulated run.
func playMoments(c *cobra.Command, r *record.Record, p *page.Page, board boardCommand) error {
	if r.Folder == "" || r.Result.Real != "" || report.OfStand(r.Result) || !p.Replays() {
		return nil
	}
	setup, err := suites.SetupOf(r, board.named())
	if err != nil {
		return err
	}
	return setup.Retrace(c.Context(), r.Result, p.Wants, func(of *suites.Retraced) error {
		p.Take(of.Suite, of.Index, of.Evidence)
		return nil
	})
}
