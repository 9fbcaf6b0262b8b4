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
		Long: `Makes the folder NAME with car.yaml, bench.yaml and suite.yaml and a hilrig.yaml that
names them, or with --stand with stand.yaml, commented line by line. They hold the demo
car's numbers, marked as guessed, and run as they are: put your own in their place. The
name of the folder stands for all of them, as in hilrig run NAME, and in the folder
hilrig run will do. A file that is there already is never overwritten.

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
			out := screenOn(c.OutOrStdout())
			for i, path := range paths {
				paths[i] = quoted(path)
			}
			fmt.Fprint(out, live.Next(quoted(args[0]), paths, on != "", stand))
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
