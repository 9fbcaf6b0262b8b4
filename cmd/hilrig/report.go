package main

import (
	"errors"
	"fmt"
	"io"
	"strings"

	"github.com/spf13/cobra"

	"hilrig/cmd/hilrig/usage"
	"hilrig/suites"
	"hilrig/suites/esc"
	"hilrig/suites/record"
	"hilrig/suites/report"
)

// reportFlags are the flags of report.
type reportFlags struct {
	exports   exportFlags
	json, all bool
	vcd, only string
}

// newReport returns the command that turns a record into other forms.
func newReport() *cobra.Command {
	var f reportFlags
	c := &cobra.Command{
		Use:   "report [RECORD]",
		Short: "show what a run left behind, or write it in other forms",
		Long: `Shows the record of a run as the run did. RECORD is its folder, that folder's name
alone where hilrig keeps it, or its label; without it the newest is taken. Ends as the
run did: GO (0), NO-GO (1) or NOT SHOWN (2).

With --vcd it writes all wires of one case as a value change dump (IEEE 1364,
time unit 100 ns), which any waveform viewer opens. A simulated record keeps no
edges: the case is played again from the record's own files, and it is an error
where it comes out differently. A run in real time cannot be had again: its
record keeps half a second before and after each moment that a check which
failed or was left open names, and what the wires showed last where the run
broke off.

With --junit, --tap or --csv it writes the record for other programs: a test for
each check, in which everything that stands against GO is bad; tables of checks and
cases, and of what was played and commanded along each case, one line for each 10 ms.

With --html it writes one page that needs nothing beside it: the outcome, what failed
with its moments plotted, each suite's measurements, and the run itself. Of a simulated
run the moments are played again; the record of one in real time keeps its own.

Of a speed controller the figures are shown; its readings, pictures and correction
tables are in the record's folder forms.

Of a record that is cut short, was changed, or whose run did not end, this is
said first; it is shown as far as it goes, is never GO, and the end is 2.`,
		Example: `  hilrig report
  hilrig report --html run.html
  hilrig report --only "cap holds" --vcd cap.vcd
  hilrig report 2026-11-25-085517 --only "opposite lock (turn left)" --vcd wires.vcd`,
		Args: usage.Arguments(0, 1),
		RunE: func(c *cobra.Command, args []string) error { return f.run(c, args) },
	}
	f.exports.add(c)
	f.exports.command.add(c)
	flags := c.Flags()
	flags.StringVar(&f.vcd, "vcd", "", "write the wires of a case to `FILE`; - is standard output")
	flags.BoolVar(&f.all, "all", false, "tell each check that failed or stayed open, however many lines that takes")
	flags.BoolVar(&f.json, "json", false, "print the result as JSON and nothing else")
	flags.StringVar(&f.only, "only", "", "the first case whose suite and name contain `PATTERN`, one that is no pass before others")
	return c
}

// run writes what the flags ask for.
func (f *reportFlags) run(c *cobra.Command, args []string) error {
	if f.json && f.vcd != "" {
		return errors.New("report: --json and --vcd are two forms; ask for one at a time")
	}
	if f.vcd == "" && f.only != "" {
		return errors.New("report: --only names the case for --vcd FILE; add that, or leave it out")
	}
	folder, err := recordNamed(args)
	if err != nil {
		return err
	}
	r, err := record.Read(folder)
	if err != nil {
		return err
	}
	if f.exports.asked() {
		if err := f.export(c, r); err != nil {
			return err
		}
		if f.vcd == "" && !f.json {
			return endWhole(r)
		}
	}
	if f.json {
		_, _ = c.OutOrStdout().Write(r.Result.JSON()) // what went wrong is remembered, as with every print
		return endWith(exitOf(r.Result.Outcome))
	}
	if f.vcd == "" {
		showRecord(screenOn(c.OutOrStdout()), r, f.all)
		return endWith(exitOf(r.Result.Outcome))
	}
	printWrong(screenOn(c.ErrOrStderr()), r)
	if err := f.wires(c, r); err != nil {
		return err
	}
	return endWhole(r)
}

// endWhole ends as a record that is written in other forms: 2 where something is wrong with it.
func endWhole(r *record.Record) error {
	if len(r.Wrong()) > 0 {
		return endWith(exitNotShown)
	}
	return nil
}

// export writes the record in the forms of other programs.
func (f *reportFlags) export(c *cobra.Command, r *record.Record) error {
	if ofStand(r.Result) && f.exports.tables() {
		return fmt.Errorf("record %s is of a speed controller, whose tables and pictures are in its folder forms", r.Folder)
	}
	if err := f.exports.possible("", f.vcd == "-" || f.json); err != nil {
		return err
	}
	if f.vcd == "" {
		printWrong(screenOn(c.ErrOrStderr()), r)
	}
	return f.exports.write(c, r)
}

// wires writes the wires of the case that the flags name.
func (f *reportFlags) wires(c *cobra.Command, r *record.Record) error {
	if ofStand(r.Result) {
		return fmt.Errorf("record %s is of a speed controller and keeps no wires; its readings are in forms/%s", r.Folder, esc.ReadingsName)
	}
	suite, index, err := r.Find(f.only)
	if err != nil {
		return err
	}
	about := r.Result.Suites[suite].Name + ": " + r.Result.Suites[suite].Cases[index].Title()
	of := f.rewatched
	if r.Result.Real != "" {
		of = recordedWires
	}
	write, says, err := of(c, r, suite, index, about)
	if err != nil {
		return err
	}
	err = writeTo(f.vcd, c.OutOrStdout(), report.Marked(r, write))
	if err == nil && f.vcd != "-" {
		fmt.Fprintf(c.ErrOrStderr(), "%s: %s, %s\n", f.vcd, about, says)
	}
	return err
}

// rewatched plays a case again and returns what writes its wires, with what is to say of them.
func (f *reportFlags) rewatched(c *cobra.Command, r *record.Record, suite, index int, about string) (write func(io.Writer) error, says string, err error) {
	setup, err := suites.SetupOf(r, f.exports.command.named())
	if err != nil {
		return nil, "", err
	}
	wires, err := setup.Rewatch(c.Context(), r.Result, suite, index)
	if err != nil {
		return nil, "", fmt.Errorf("record %s: %w", r.Folder, err)
	}
	says = fmt.Sprintf("%d edges on %d wires", len(wires.Edges), len(wires.Layout.Lines))
	return func(w io.Writer) error { return wires.VCD(w, about) }, says, nil
}

// recordedWires returns what writes what a run in real time kept of a case's wires.
func recordedWires(_ *cobra.Command, r *record.Record, suite, index int, about string) (write func(io.Writer) error, says string, err error) {
	if !record.HasWires(r.Folder, suite, index) {
		return nil, "", fmt.Errorf("%s: nothing is kept of the wires in %q: a run in real time (%s, board %s) keeps them around moments of checks that failed or were left open, and its verdict is %q; a run with kind: simulated can be had again, or put a logic analyser on the wires",
			r.Folder, about, r.Result.Real, r.Result.Board.Name, r.Result.Suites[suite].Cases[index].Verdict)
	}
	return func(w io.Writer) error { return record.Wires(r.Folder, suite, index, w) }, "as kept while it was played; " + aboutRecorded, nil
}

// recordNamed returns the folder of the record that is named, or of the newest.
func recordNamed(args []string) (string, error) {
	home, err := record.Home()
	if err != nil {
		return "", err
	}
	return record.Named(strings.Join(args, ""), home)
}

// writeTo lets write fill a file at path, or out where path is "-".
func writeTo(path string, out io.Writer, write func(io.Writer) error) error {
	if path == "-" || path == "/dev/stdout" {
		return write(out)
	}
	return report.Fill(path, write)
}
