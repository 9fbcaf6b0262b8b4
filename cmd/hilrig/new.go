package main

import (
	"errors"
	"fmt"

	"github.com/spf13/cobra"

	"hilrig/suites/demo"
	"hilrig/suites/live"
)

// newNew returns the command that makes files to start from.
func newNew() *cobra.Command {
	var stand bool
	var on string
	c := &cobra.Command{
		Use:   "new NAME",
		Short: "make a car, a bench and a suite file to start from, or a stand file",
		Long: `Makes the folder NAME with car.yaml, bench.yaml and suite.yaml, or with --stand
with stand.yaml, commented line by line. They hold the demo car's numbers, marked
as guessed, and run as they are: put your own in their place. A file that is there
already is never overwritten.

With --on the bench stands on a Raspberry Pi: its pins, serial port and interlock are
written for that model, beside a unit that sets the Pi up at each start.`,
		Example: `  hilrig new mycar
  hilrig new --stand mycar
  hilrig new --on "Pi 4B" mycar`,
		Args: func(_ *cobra.Command, args []string) error {
			if len(args) != 1 || args[0] == "" {
				return errors.New("new: give one name, as in hilrig new mycar")
			}
			return nil
		},
		RunE: func(c *cobra.Command, args []string) error {
			paths, err := makeNew(args[0], on, stand)
			if err != nil {
				return fmt.Errorf("new: %w", err)
			}
			s := screenOn(c.OutOrStdout())
			switch {
			case stand:
				printNewStand(s, paths[0])
			case on != "":
				printNewOn(s, paths)
			default:
				printNew(s, paths)
			}
			return nil
		},
	}
	c.Flags().BoolVar(&stand, "stand", false, "make a stand file, on which a speed controller is tried, and no other")
	c.Flags().StringVar(&on, "on", "", "the `COMPUTER` that the bench stands on: Pi 3B+, Pi 4B or Pi 5")
	c.MarkFlagsMutuallyExclusive("stand", "on")
	return c
}

// makeNew makes the files.
func makeNew(folder, on string, stand bool) ([]string, error) {
	if on != "" {
		return live.MakeOn(folder, on)
	}
	return demo.Make(folder, stand)
}

// printNewOn writes what was made for a Pi, and what to type next.
func printNewOn(s *screen, paths []string) {
	car, bench, suite, unit := quoted(paths[0]), quoted(paths[1]), quoted(paths[2]), quoted(paths[3])
	fmt.Fprintf(s, `made %s, %s, %s and %s

next
  hilrig lint %s %s %s
  hilrig run --bank memory --attended=no --car %s --bench %s %s
  hilrig wiring --bench %s --svg header.svg --circuit circuit.svg --parts

The second plays them in memory, without a wire. On the Pi, after the unit is in
place and the board is wired: hilrig ready --bench %s. Put your own where it
says "guessed".
`, car, bench, suite, unit, car, bench, suite, car, bench, suite, bench, bench)
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
