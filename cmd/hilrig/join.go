package main

import (
	"fmt"

	"github.com/spf13/cobra"

	"hilrig/rig/signal"
	"hilrig/suites/record"
	"hilrig/suites/report/faults"
)

// takenFromParts are the flags of run, faults and search that say what was played, which the parts say already.
var takenFromParts = []string{"car", "bench", "board", "seed", "only", "fresh", "firmware", "label", "against", "for", "drives", "shard", "board-command"}

// onlyParts says by its error which flag says what was played, where parts are joined.
func onlyParts(c *cobra.Command) error {
	for _, name := range takenFromParts {
		if c.Flags().Changed(name) {
			return fmt.Errorf("--join takes what was played from the parts; leave out --%s", name)
		}
	}
	return nil
}

// joinParts takes the records of all parts of a run as one run.
func (f *runFlags) joinParts(c *cobra.Command, folders []string) error {
	if err := onlyParts(c); err != nil {
		return err
	}
	f.exports.command = f.command
	if err := f.exports.possible(f.record, f.json); err != nil {
		return err
	}
	parts, err := record.PartsIn(folders)
	if err != nil {
		return err
	}
	whole, err := record.Join(parts)
	if err != nil {
		return err
	}
	r := whole.Result
	faults.Known().Mark(r)
	r.Seal()
	k, err := recordIn(f.record, r, whole.Inputs)
	if err != nil {
		return err
	}
	defer func() { _ = k.Close() }() // Finish has reported what there was to report
	if !f.json {
		printHeading(screenOf(c).Beside(), r)
	}
	kept := whole.Keep(k)
	e := ending{driving: signal.FromSeconds(whole.DrivingS), wall: whole.WallS, folder: k.Folder()}
	if incomplete := k.Finish(r, e.wall, whole.DrivingS); incomplete != nil {
		kept = incomplete
	}
	if e.whole = kept == nil; !e.whole {
		fmt.Fprintln(c.ErrOrStderr(), "hilrig: warning:", kept)
	}
	f.end(c, r, e)
	code := exitOf(r.Outcome)
	if err := f.exports.ofRun(c, r, k.Folder()); err != nil {
		fmt.Fprintln(c.ErrOrStderr(), "hilrig:", err)
		return endWith(graver(exitWrong, code))
	}
	return endWith(code)
}
