package main

import (
	"errors"
	"fmt"
	"path/filepath"
	"slices"
	"strings"

	"github.com/spf13/cobra"

	"hilrig/cmd/hilrig/usage"
	"hilrig/suites/demo"
	"hilrig/suites/esc"
	"hilrig/suites/file"
	"hilrig/suites/language"
	"hilrig/suites/record"
	"hilrig/suites/report"
	"hilrig/suites/setup"
)

// escFlags are the flags of esc.
type escFlags struct {
	live                     liveFlags
	esc, held, record, label string
	svg, table, html         string
	seed                     uint64
	json, calibrate          bool
}

// newESC returns the command that measures a speed controller.
func newESC() *cobra.Command {
	var f escFlags
	c := &cobra.Command{
		Use:   "esc [STAND]",
		Short: "measure how straight a speed controller's throttle is, and judge it",
		Long: `Drives a speed controller (ESC) up and down its throttle, reads what the motor
gives, and says with its uncertainty how far that is from a straight line, where torque
begins, whether up and down agree, how fast it answers, and which table in the
firmware would straighten it. STAND is a stand file; without it the demo stand is
played. On a simulated stand --esc names the controller, one of
` + strings.Join(report.Wrapped(strings.Join(esc.Controllers(), ", ")+".", 78), "\n") + `

Ends GO (0), NO-GO (1) or NOT SHOWN (2); MEASURED (0) where the file sets no limit;
3 with a wrong file; 4 where a bound of stop_at, or the interlock, ended the run.
Ctrl-C sends idle and keeps the record: 2, on a real stand 4.

With --calibrate the motor is not driven: the load cell is read without load and
under the stand file's two masses, and the lines to put in the file are printed.`,
		Example: `  hilrig esc
  hilrig esc mystand/stand.yaml --svg mystand.svg --table throttle_table.h`,
		Args: usage.Arguments(0, 1),
		RunE: func(c *cobra.Command, args []string) error { return f.run(c, args) },
	}
	f.live.add(c)
	flags := c.Flags()
	flags.StringVar(&f.esc, "esc", "", "the controller `NAME` of a simulated stand (default linear)")
	flags.Uint64Var(&f.seed, "seed", 1, "`N` fixes everything that is drawn")
	flags.StringVar(&f.record, "record", "", "keep the record in a new folder under `DIR`; none keeps no record (default: the user's state folder)")
	flags.StringVar(&f.label, "label", "", "note `TEXT` in the record")
	flags.StringVar(&f.held, "held", "", "draw and tabulate the first held condition whose name contains `TEXT` (default: the first)")
	flags.StringVar(&f.svg, "svg", "", "draw the characteristic into `FILE`")
	flags.StringVar(&f.html, "html", "", "write one page to read, print and pass on to `FILE`")
	flags.StringVar(&f.table, "table", "", "write the correction table into `FILE`: as CSV, or for firmware in C where its name ends in .h")
	flags.BoolVar(&f.calibrate, "calibrate", false, "calibrate the load cell, and measure nothing else")
	addQuiet(c)
	flags.BoolVar(&f.json, "json", false, "print the result as JSON and nothing else")
	return c
}

// run measures the controller on the stand that args name.
func (f *escFlags) run(c *cobra.Command, args []string) error {
	stand, inputs, err := readStand(c, args)
	if err != nil {
		return err
	}
	if err := f.check(stand); err != nil {
		return err
	}
	warn(c, file.LintStand(stand))
	setup := &esc.Setup{Stand: stand, ESC: f.esc, Seed: f.seed}
	if err := f.on(c, setup); err != nil {
		return err
	}
	if f.calibrate {
		return f.lead(c, setup)
	}
	return f.measure(c, setup, inputs)
}

// check refuses wrong use.
func (f *escFlags) check(stand *file.Stand) error {
	ext := filepath.Ext(f.table)
	switch names := esc.Controllers(); {
	case f.table != "" && ext != ".csv" && ext != ".h":
		return fmt.Errorf("esc: --table %s; name a file that ends in .csv, or in .h for firmware in C", f.table)
	case f.html == "-":
		return errors.New("esc: --html - would stand among the figures; name a file, or write hilrig report --html -")
	case f.esc != "" && !slices.Contains(names, f.esc):
		return fmt.Errorf("esc: controller %q is not known; use %s or %s", f.esc, strings.Join(names[:len(names)-1], ", "), names[len(names)-1])
	case f.esc != "" && !stand.Plays():
		return fmt.Errorf("esc: %s judges a file of a dynamometer, and plays no controller; leave --esc out", stand.Source.Path)
	case f.held != "" && !slices.ContainsFunc(stand.Held, func(h file.HeldCondition) bool { return strings.Contains(h.String(), f.held) }):
		return fmt.Errorf("esc: --held %q fits none of %s: %s", f.held, stand.Source.Path, heldOf(stand))
	}
	return nil
}

// heldOf lists what a stand holds.
func heldOf(stand *file.Stand) string {
	var all []string
	for i := range stand.Held {
		all = append(all, stand.Held[i].String())
	}
	return strings.Join(all, ", ")
}

// readStand reads the stand file that args name, or the demo's, and returns what to keep of it.
func readStand(c *cobra.Command, args []string) (*file.Stand, []record.Input, error) {
	source := language.Source{Path: demo.StandPath, Data: demo.StandYAML}
	inputs := inputsOf(c.Context())
	path, err := setup.Stand(args, inputs)
	if err != nil {
		return nil, nil, err
	}
	if path != "" {
		data, err := inputs.Read(path)
		if err != nil {
			return nil, nil, err
		}
		source = language.Source{Path: path, Data: data}
	}
	stand, err := file.ParseStand(source, func(path string) ([]byte, error) { return inputs.ReadMeasured(filepath.FromSlash(path)) })
	if err != nil {
		return nil, nil, err
	}
	recorded := []record.Input{{Role: record.StandInput, Path: source.Path, Data: source.Data}}
	if stand.CSV != nil {
		recorded = append(recorded, record.Input{Role: record.LogInput, Path: stand.CSV.Source.Path, Data: stand.CSV.Source.Data})
	}
	return stand, recorded, nil
}
