package main

import (
	"fmt"
	"io"
	"os"

	"github.com/spf13/cobra"

	"hilrig/rig/raspberry"
)

// newReady returns the command that checks the machine before anything is powered.
func newReady() *cobra.Command {
	var bench string
	c := &cobra.Command{
		Use:   "ready",
		Short: "check this machine before anything is powered",
		Long: `Looks at the computer, what the program may do, kernel, processors and serial
ports, and says READY, or what is wrong and the cure. It touches no pin: wires,
board, stop input and relay are not tried yet by this version.

Ends with 0 where all is well, and with 2 otherwise.`,
		Example: `  hilrig ready
  hilrig ready --bench mybench.yaml`,
		Args: cobra.NoArgs,
		RunE: func(c *cobra.Command, _ []string) error {
			b, err := readBench(bench)
			if err != nil {
				return err
			}
			w := wiresOf(b)
			m := raspberry.Machine{Root: os.DirFS("/"), Open: tryDevice}
			return printReady(c.OutOrStdout(), m.Ready(&w))
		},
	}
	c.Flags().StringVar(&bench, "bench", "", "the bench `FILE` (default: the demo bench)")
	return c
}

// tryDevice opens a device file and closes it again.
func tryDevice(path string) error {
	f, err := os.OpenFile(path, os.O_RDWR, 0)
	if err != nil {
		return err
	}
	return f.Close()
}

// printReady writes the findings and the outcome.
func printReady(out io.Writer, found []raspberry.Finding) error {
	wrong := 0
	for _, f := range found {
		word := "well "
		if !f.OK {
			word = "WRONG"
			wrong++
		}
		fmt.Fprintf(out, "%s  %-18s  %s\n", word, f.Check, f.Says)
		if f.Cure != "" {
			fmt.Fprintf(out, "       %-18s  cure: %s\n", "", f.Cure)
		}
	}
	fmt.Fprintln(out, "\nnot tried: driven lines read back, loopback, board at idle, stop input, relay without heartbeat")
	if wrong > 0 {
		fmt.Fprintf(out, "NOT READY  %s wrong\n", count(wrong, "thing"))
		return endWith(exitNotShown)
	}
	fmt.Fprintln(out, "READY  as far as this machine shows without touching a pin")
	return nil
}
