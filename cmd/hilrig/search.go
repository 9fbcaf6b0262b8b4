package main

import (
	"errors"
	"fmt"
	"os"
	"time"

	"github.com/spf13/cobra"

	"hilrig/cmd/hilrig/usage"
	"hilrig/suites/parts"
	"hilrig/suites/search"
	"hilrig/suites/standard"
)

// searchFlags are the flags of search.
type searchFlags struct {
	inputFlags
	limit  time.Duration
	drives int
	into   string
	json   bool
	join   bool
	shard  string
}

// newSearch returns the command that plays drawn drives.
func newSearch() *cobra.Command {
	var f searchFlags
	c := &cobra.Command{
		Use:   "search [FOLDER]",
		Short: "play drawn drives and shrink what fails to a suite file",
		Long: `Plays drives that nobody wrote: speed, steer, yaw rate, throttle and gain held,
leaping and ramping as the seed draws them, and wires lost and back. Every command
is held to the car's policy, and losses to what it says of them; what it leaves out
is not asked. A check that fails is shrunk to a short drive with round numbers in
which it still fails, tried again at two other seeds, and written as a suite file,
which hilrig run plays. One that fails at this seed alone is written as it was drawn.

What is found depends on the seed and not on the machine: --for and --drives only
say when to end. Each check is shrunk once, and after three it ends by itself. It
plays on the simulated bench alone. That nothing is found does not show that nothing is there.

With --shard 2/8 --json one of at most eight machines plays its part of the drives, and ends 0 where it
came to its end. --join FILE... puts what all of them wrote together to the result and exit code of
one machine, which is the same wherever --drives and not --for says when to end.

Ends 0 where nothing was found, 1 where something was, 2 where it was stopped or
something failed at this seed and at no other, 3 where it cannot start.`,
		Example: `  hilrig search --for 1m --board built-in:left_right
  hilrig search --for 10m --car mycar.yaml --bench mybench.yaml --board-command './firmware {seed}'`,
		Args: func(c *cobra.Command, args []string) error {
			if f.join {
				return nil
			}
			return usage.Arguments(0, 1)(c, args)
		},
		RunE: func(c *cobra.Command, args []string) error { return f.run(c, args) },
	}
	f.add(c)
	flags := c.Flags()
	flags.DurationVar(&f.limit, "for", 10*time.Minute, "draw no more drives after this `TIME`, as 90s or 10m")
	flags.IntVar(&f.drives, "drives", 0, "draw no more after `N` drives, in whole rounds of sixteen (default: no such end)")
	addQuiet(c)
	flags.StringVar(&f.into, "into", ".", "write the suites of what was found into `FOLDER`")
	flags.BoolVar(&f.json, "json", false, "print what was found as JSON and nothing else")
	flags.BoolVar(&f.join, "join", false, "play nothing: take the parts in the files that are named as one")
	flags.StringVar(&f.shard, "shard", "", "play `PART` of the drives, 2/8 for the second of eight, and leave the rest to other machines")
	return c
}

// run searches, or takes the parts in files as one, and shows what was found.
func (f *searchFlags) run(c *cobra.Command, args []string) error {
	if f.shard != "" && !f.json {
		return errors.New("search: a part is joined from its JSON; add --json and keep what is printed in a file")
	}
	if f.join {
		if err := onlyParts(c); err != nil {
			return err
		}
		whole, err := search.Join(args, os.ReadFile)
		if err != nil {
			return err
		}
		return f.show(c, whole, "")
	}
	split, err := parts.ParseSplit(f.shard, version())
	if err != nil {
		return err
	}
	if _, err := f.resolve(c, args, true); err != nil {
		return fmt.Errorf("search: %w", err)
	}
	setup, err := f.load(c, []string{standard.Life})
	if err != nil {
		return err
	}
	line := progressOf(c)
	typed := search.Typed{Car: f.car, Bench: f.bench, Board: f.board, Command: string(f.command)}
	found, err := search.Run(c.Context(), setup, search.Options{
		For: f.limit, Drives: f.drives, Into: f.into, Typed: typed, Split: split,
		Progress: func(p search.Progress) { line.Show(p.Words()) },
	})
	line.Wipe()
	if err != nil {
		return err
	}
	return f.show(c, found, fmt.Sprintf("driven %.0f s in %.1f s\n", found.Driving.Seconds(), line.Since()))
}

// show writes the suites of what was found, prints it with a closing line, and ends with its outcome. A part writes no suite.
func (f *searchFlags) show(c *cobra.Command, found *search.Result, closing string) error {
	out := screenOf(c)
	var paths []string
	var unwritten error
	if found.Part == nil {
		paths, unwritten = found.Write(f.into)
	}
	if f.json {
		if err := out.JSON(found); err != nil {
			return err
		}
		fmt.Fprint(c.ErrOrStderr(), closing)
	} else {
		fmt.Fprintln(out.Beside(), found.Text(paths))
		fmt.Fprintf(out, "%s  %s\n%s", out.Tinted(found.Words(), found.Outcome), found.Says(), closing)
	}
	if unwritten != nil {
		return unwritten
	}
	return endWith(exitOf(found.Outcome))
}
