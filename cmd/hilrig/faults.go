package main

import (
	"errors"
	"fmt"

	"github.com/spf13/cobra"

	"hilrig/rig/board"
)

// newFaults returns the command that lists the seeded faults.
func newFaults() *cobra.Command {
	var list bool
	c := &cobra.Command{
		Use:   "faults --list",
		Short: "list the faults that can be seeded into the built-in board",
		Long: `Lists the known defects that --board built-in:FAULT switches on, one a line: its
name, then what it does. A suite that cannot find them proves little.`,
		Example: `  hilrig faults --list
  hilrig run --board built-in:left_right`,
		Args: cobra.NoArgs,
		RunE: func(c *cobra.Command, _ []string) error {
			if !list {
				return errors.New("faults: say what to do with them; use faults --list")
			}
			printFaults(screenOn(c.OutOrStdout()), board.Faults())
			return nil
		},
	}
	c.Flags().BoolVar(&list, "list", false, "list the faults")
	return c
}

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
