package main

import (
	"errors"
	"fmt"

	"github.com/spf13/cobra"

	"hilrig/cmd/hilrig/usage"
	"hilrig/suites/live"
)

// newRelease returns the command that lets the pins of a bench go.
func newRelease() *cobra.Command {
	var f inputFlags
	var stand string
	c := &cobra.Command{
		Use:   "release [FOLDER]",
		Short: "make the pins of a bench inputs, so that wires can be changed",
		Long: `Opens the relay and stops the heartbeat, then makes every pin of the bench an input
with the pull that it has while the Pi starts. After a run they are outputs at their
safe levels; let go, what is wired is held by its resistors alone. The pins of serial
ports stay the ports'. Pull the plug in the pack's lead before you change a wire.`,
		Example: `  hilrig release mycar
  hilrig release --bench mybench.yaml
  hilrig release --stand mystand.yaml`,
		Args: usage.Arguments(0, 1),
		RunE: func(c *cobra.Command, args []string) error {
			if stand == "" {
				if _, err := f.resolve(c, args, true); err != nil {
					return fmt.Errorf("release: %w", err)
				}
			}
			if f.bench+stand == "" {
				return errors.New("release: say of what, as in hilrig release --bench mybench.yaml")
			}
			of, err := wiredAt(c, f.bench, stand)
			if err != nil {
				return err
			}
			place := live.Place{Model: thisPi()}
			claimed, err := place.Claim(false)
			if err != nil {
				return err
			}
			defer live.Release(claimed)
			n, err := live.LetGo(of, place.Model)
			if n > 0 {
				fmt.Fprintf(c.OutOrStdout(), "%s of %s are inputs, with the pulls that they have while the Pi starts\n", count(n, "pin"), of.Path)
			}
			return err
		},
	}
	c.Flags().StringVar(&f.bench, "bench", "", "the bench `FILE`, or a folder that hilrig new made (default: as hilrig.yaml here says)")
	c.Flags().StringVar(&stand, "stand", "", "a stand `FILE` instead of a bench")
	c.MarkFlagsMutuallyExclusive("bench", "stand")
	return c
}

// wiredAt reads what a bench or stand file says of its wires.
func wiredAt(c *cobra.Command, bench, stand string) (*live.Wired, error) {
	if stand != "" {
		s, err := standAt(inputsOf(c.Context()), stand)
		if err != nil {
			return nil, err
		}
		return live.OfStand(s), nil
	}
	b, err := readBench(bench)
	if err != nil {
		return nil, err
	}
	return live.OfBench(b), nil
}
