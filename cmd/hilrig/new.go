package main

import (
	"errors"
	"fmt"

	"github.com/spf13/cobra"

	"hilrig/suites/demo"
)

// newNew returns the command that makes files to start from.
func newNew() *cobra.Command {
	var stand bool
	c := &cobra.Command{
		Use:   "new NAME",
		Short: "make a car, a bench and a suite file to start from, or a stand file",
		Long: `Makes the folder NAME with car.yaml, bench.yaml and suite.yaml, or with --stand
with stand.yaml, commented line by line. They hold the demo car's numbers, marked
as guessed, and run as they are: put your own in their place. A file that is there
already is never overwritten.`,
		Example: `  hilrig new mycar
  hilrig new --stand mycar`,
		Args: func(_ *cobra.Command, args []string) error {
			if len(args) != 1 || args[0] == "" {
				return errors.New("new: give one name, as in hilrig new mycar")
			}
			return nil
		},
		RunE: func(c *cobra.Command, args []string) error {
			paths, err := demo.Make(args[0], stand)
			if err != nil {
				return fmt.Errorf("new: %w", err)
			}
			s := screenOn(c.OutOrStdout())
			if stand {
				printNewStand(s, paths[0])
			} else {
				printNew(s, paths)
			}
			return nil
		},
	}
	c.Flags().BoolVar(&stand, "stand", false, "make a stand file, on which a speed controller is tried, and no other")
	return c
}

// printNew writes what was made, and what to type next.
func printNew(s *screen, paths []string) {
	var names [3]string
	for i, p := range paths {
		names[i] = quoted(p)
	}
	car, bench, suite := names[0], names[1], names[2]
	fmt.Fprintf(s, `made %s, %s and %s

next
  hilrig run --car %s --bench %s %s
  hilrig play --car %s --bench %s steer=8deg yaw=70%%
  hilrig lint %s %s %s

The first says GO: the built-in board and these files have the demo car's
numbers. Put your own where it says "guessed".
`, car, bench, suite, car, bench, suite, car, bench, car, bench, suite)
}

// printNewStand writes what was made of a stand, and what to type next.
func printNewStand(s *screen, path string) {
	stand := quoted(path)
	fmt.Fprintf(s, `made %s

next
  hilrig esc %s
  hilrig lint %s

The first says GO: the simulated stand and this file have the demo's numbers.
Put your own where it says "guessed".
`, stand, stand, stand)
}
