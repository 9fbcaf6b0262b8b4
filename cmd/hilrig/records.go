package main

import (
	"fmt"
	"strconv"
	"strings"
	"time"

	"github.com/spf13/cobra"

	"hilrig/cmd/hilrig/usage"
	"hilrig/suites/record"
	"hilrig/suites/terminal"
)

// recordsFlags are the flags of records.
type recordsFlags struct {
	older string
}

// newRecords returns the command that lists what is kept of runs.
func newRecords() *cobra.Command {
	var f recordsFlags
	c := &cobra.Command{
		Use:   "records [FOLDER]",
		Short: "list what is kept of runs, and remove what is old",
		Long: `Lists the records in FOLDER, oldest first; without it those in the user's state
folder, where hilrig run keeps them: when the run began, its label and firmware,
car and board, outcome, and how much room it takes.

With --remove-older-than it lists those that are older alone, and removes them.
Of a folder it removes what belongs to a record; what else lies there stays. A
record whose run did not end stays for a day, for the run may be under way.`,
		Example: `  hilrig records
  hilrig records --remove-older-than 90d`,
		Args: usage.Arguments(0, 1),
		RunE: func(c *cobra.Command, args []string) error { return f.run(c, args) },
	}
	c.Flags().StringVar(&f.older, "remove-older-than", "", "remove records that began longer than `AGE` ago: 90d, 12h")
	return c
}

// run lists, and removes what the flags say.
func (f *recordsFlags) run(c *cobra.Command, args []string) error {
	home, err := homeOf(strings.Join(args, "")) // one at most
	if err != nil {
		return err
	}
	now := time.Now()
	var before time.Time // records that began earlier go
	if f.older != "" {
		age, err := ageOf(f.older)
		if err != nil {
			return err
		}
		before = now.Add(-age)
	}
	entries, err := record.Entries(home)
	if err != nil {
		return err
	}
	out := screenOn(c.OutOrStdout())
	if f.older == "" {
		printRecords(out, entries)
		if len(entries) == 0 {
			fmt.Fprintf(out, "no record in %s; hilrig run keeps one\n", home)
		}
		return nil
	}
	old := record.Older(entries, before)
	printRecords(out, old)
	removed, err := record.RemoveAll(old, now)
	fmt.Fprintf(out, "%d of %d records removed\n", removed, len(entries))
	return err
}

// ageOf reads an age: a whole number of days, or hours.
func ageOf(text string) (time.Duration, error) {
	for unit, long := range map[string]time.Duration{"d": 24 * time.Hour, "h": time.Hour} {
		number, ok := strings.CutSuffix(text, unit)
		if n, err := strconv.ParseUint(number, 10, 16); ok && err == nil {
			return time.Duration(n) * long, nil
		}
	}
	return 0, fmt.Errorf("--remove-older-than %q is no age; write days or hours, as 90d or 12h", text)
}

// printRecords writes a line for each record.
func printRecords(out *screen, entries []record.Entry) {
	if len(entries) == 0 {
		return
	}
	rows := table{{"began", "outcome", "label", "firmware", "car", "board", "kB", "folder"}}
	for _, e := range entries {
		began := "unknown"
		if !e.Began.IsZero() {
			began = e.Began.Format("2006-01-02 15:04:05")
		}
		outcome := e.Outcome
		if e.Wrong != "" {
			outcome += " (" + e.Wrong + ")"
		}
		rows = append(rows, []string{
			began, outcome, terminal.Visible(e.Label), fmt.Sprintf("%.12s", e.Firmware), terminal.Visible(e.Car), terminal.Visible(e.Board),
			strconv.FormatInt((e.Bytes+999)/1000, 10), e.Folder,
		})
	}
	rows.Print(out, "", 6)
}
