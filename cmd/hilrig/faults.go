package main

import (
	"encoding/json"
	"errors"
	"fmt"
	"time"

	"github.com/spf13/cobra"

	"hilrig/rig/board"
	"hilrig/suites/standard"
)

// faultsFlags are the flags of faults.
type faultsFlags struct {
	inputFlags
	list, null, json bool
}

// newFaults returns the command that holds suites against boards that are
// wrong.
func newFaults() *cobra.Command {
	var f faultsFlags
	c := &cobra.Command{
		Use:   "faults [SUITE...]",
		Short: "hold suites against every seeded fault: which check finds which",
		Long: `Plays the suites to the built-in board once for each fault that can be seeded
into it, and shows which check finds it. A suite that cannot find a fault proves
little. What a check finds on the board without a fault does not count.

With --null it plays them to boards that control nothing: each suite has to
fail on each of them. The suite timing may pass, since it asks when a board
answers and not what.

Without a SUITE all standard suites are played. Ends NO-GO (1) where a fault is
not found or a null board passes, NOT SHOWN (2) where that was not decided.`,
		Example: `  hilrig faults
  hilrig faults --null mysuite.yaml`,
		RunE: func(c *cobra.Command, args []string) error { return f.run(c, args) },
	}
	f.addFiles(c)
	f.addSeed(c)
	flags := c.Flags()
	flags.BoolVar(&f.list, "list", false, "list the faults and play nothing")
	flags.BoolVar(&f.null, "null", false, "play to the boards that control nothing")
	flags.BoolVar(&f.json, "json", false, "print what was found as JSON and nothing else")
	return c
}

// run does what the flags say.
func (f *faultsFlags) run(c *cobra.Command, args []string) error {
	out := screenOn(c.OutOrStdout())
	switch {
	case f.list && (f.null || f.json || len(args) > 0):
		return errors.New("faults: --list stands alone; leave out the rest")
	case f.list:
		printFaults(out, board.Faults())
		return nil
	case len(args) == 0:
		args = standard.Names()
	}
	files, err := f.files(args)
	if err != nil {
		return err
	}
	v := &survey{files: files, boards: f.boards(), line: progressOn(c.ErrOrStderr())}
	began := time.Now()
	err = v.run(c.Context())
	v.line.wipe()
	if err != nil {
		return err
	}
	var shown surveyed
	if f.null {
		shown = nullsOf(v)
	} else if shown, err = faultsOf(v); err != nil {
		return err
	}
	closing := fmt.Sprintf("driven %.0f s in %.1f s", v.driving.Seconds(), time.Since(began).Seconds())
	if f.json {
		data, err := json.MarshalIndent(shown, "", "  ")
		if err != nil {
			return err
		}
		fmt.Fprintf(out, "%s\n", data)
		fmt.Fprintln(c.ErrOrStderr(), closing)
	} else {
		shown.print(out)
		fmt.Fprintln(out, closing)
	}
	return endWith(exitOf(shown.outcome()))
}

// surveyed is what a survey showed.
type surveyed interface {
	print(s *screen)
	outcome() string
}

// boards lists the boards to play to.
func (f *faultsFlags) boards() []string {
	var all []string
	if f.null {
		for _, kind := range board.Kinds {
			all = append(all, "null:"+string(kind))
		}
		return all
	}
	all = append(all, builtIn)
	for _, fault := range board.Faults() {
		all = append(all, builtIn+":"+fault.Name)
	}
	return all
}

// builtIn is the board without a fault.
const builtIn = "built-in"

// printFaults writes one fault a line, name then sentence.
func printFaults(s *screen, all []board.Fault) {
	width := 0
	for _, f := range all {
		width = max(width, widest(f.Name))
	}
	for _, f := range all {
		fmt.Fprintf(s, "%s  %s\n", pad(f.Name, width), f.Sentence)
	}
}
