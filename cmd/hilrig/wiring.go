package main

import (
	"errors"
	"fmt"
	"io"

	"github.com/spf13/cobra"

	"hilrig/cmd/hilrig/usage"
	"hilrig/rig/raspberry/pinout"
	"hilrig/suites/file"
	"hilrig/suites/live"
	"hilrig/suites/report"
)

// drawings are what is drawn and listed beside the wiring table.
type drawings struct {
	svg, circuit string // paths; empty: none
	parts        bool
}

// newWiring returns the command that says how a board is wired to a Pi.
func newWiring() *cobra.Command {
	var bench, stand string
	var plug bool
	var draw drawings
	c := &cobra.Command{
		Use:   "wiring [FOLDER]",
		Short: "say whether a board plugs in, and how it is wired to the header",
		Long: `Says first which boards plug in, then the wire of every signal of the bench: its
GPIO line, its pin on the header, and what has to stand between the Pi and the
board. Where the bench file gives no pins, some are proposed. With --stand it says
that of the stand for a speed controller.

--circuit draws what stands between pack, Pi and motors, its values worked out for the
pack, capacitance and bleed that the file declares under interlock, --parts lists it
with the reason of each value. Have somebody qualified check the circuit.`,
		Example: `  hilrig wiring --bench mybench.yaml --svg header.svg --circuit circuit.svg --parts
  hilrig wiring --plug`,
		Args: usage.Arguments(0, 1),
		RunE: func(c *cobra.Command, args []string) error {
			if stand != "" {
				return wiringOfStand(c, stand, draw)
			}
			out := c.OutOrStdout()
			pinout.WritePlugs(out)
			if plug {
				return nil
			}
			f := inputFlags{bench: bench}
			if _, err := f.resolve(c, args, true); err != nil {
				return fmt.Errorf("wiring: %w", err)
			}
			return wiring(c, f.bench, draw)
		},
	}
	c.Flags().StringVar(&bench, "bench", "", "the bench `FILE` (default: the demo bench)")
	c.Flags().StringVar(&stand, "stand", "", "a stand `FILE` instead of a bench")
	c.Flags().StringVar(&draw.svg, "svg", "", "draw the header into `FILE`")
	c.Flags().StringVar(&draw.circuit, "circuit", "", "draw the circuit into `FILE`")
	c.Flags().BoolVar(&draw.parts, "parts", false, "list the circuit's parts, and how it is switched on")
	c.Flags().BoolVar(&plug, "plug", false, "say only which boards plug in")
	c.MarkFlagsMutuallyExclusive("bench", "plug", "stand")
	return c
}

// readBench reads the bench file at path, the demo's without one.
func readBench(path string) (*file.Bench, error) {
	files, err := (&inputFlags{bench: path}).files(nil)
	if err != nil {
		return nil, err
	}
	return file.ParseBenchOn(files.Bench, files.Host)
}

// wiring writes the table and the drawing of a bench.
func wiring(c *cobra.Command, path string, draw drawings) error {
	b, err := readBench(path)
	if err != nil {
		return err
	}
	warn(c, file.LintBench(b))
	return wires(c, live.OfBench(b), "bench", b.Name, draw, func(out io.Writer) { live.WriteLimits(out, b) })
}

// wiringOfStand writes the same of a stand.
func wiringOfStand(c *cobra.Command, path string, draw drawings) error {
	s, err := standAt(inputsOf(c.Context()), path)
	if err != nil {
		return err
	}
	warn(c, file.LintStand(s))
	if !s.Plays() {
		return fmt.Errorf("%s judges the file of a dynamometer, and has no wires", path)
	}
	return wires(c, live.OfStand(s), "stand", s.Name, draw, func(io.Writer) {})
}

// wires writes the table and the drawing of a bench or a stand; limits writes what else there is to
// say of them.
func wires(c *cobra.Command, of *live.Wired, kind, name string, draw drawings, limits func(io.Writer)) error {
	out := c.OutOrStdout()
	w, proposed, err := of.Wires.Propose()
	if err != nil {
		return fmt.Errorf("%s: %w", of.Path, err)
	}
	rows := w.Table()
	fmt.Fprintf(out, "\n%s  (%s)\n\n", name, of.Path)
	pinout.WriteTable(out, rows)
	limits(out)
	fmt.Fprintln(out)
	pinout.WriteHeader(out, rows)
	if len(proposed) > 0 {
		fmt.Fprintf(out, "\n%s proposed; to take them, put into the %s file\n\n", count(len(proposed), "pin"), kind)
		pinout.WriteYAML(out, &w, rows)
	}
	if draw.parts {
		live.WriteParts(out, of, &w)
	}
	if draw.svg != "" {
		err = report.WriteFile(draw.svg, pinout.HeaderSVG(name, rows))
	}
	if draw.circuit != "" {
		err = errors.Join(err, report.WriteFile(draw.circuit, live.CircuitSVG(of, name, &w)))
	}
	return err
}
