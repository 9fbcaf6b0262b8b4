package main

import (
	"context"
	"fmt"
	"runtime"
	"time"

	"github.com/spf13/cobra"

	"hilrig/cmd/hilrig/usage"
	"hilrig/suites"
	"hilrig/suites/language"
	"hilrig/suites/parts"
	"hilrig/suites/record"
	"hilrig/suites/report"
	"hilrig/suites/report/faults"
)

// runFlags are the flags of run.
type runFlags struct {
	inputFlags
	live     liveFlags
	exports  exportFlags
	only     string
	fresh    bool
	record   string
	firmware string
	label    string
	against  string
	json     bool
	verbose  bool
	all      bool
	shard    string
	join     bool
}

// newRun returns the command that plays suites and judges them.
func newRun() *cobra.Command {
	var f runFlags
	c := &cobra.Command{
		Use:   "run [SUITE...]",
		Short: "play suites to a board and judge what comes back",
		Long: `Plays every case of the suites, judges it, keeps a record of the run, and ends
GO (0), NO-GO (1) or NOT SHOWN (2). A record that cannot be written to its end,
as where the disk is full, is reported in a warning and changes nothing of that.
With --against it ends as hilrig compare does where that is worse. A SUITE is the name of a standard suite or
the path of a YAML file; without one all standard suites are played but soak, which drives for
eighty minutes. Without
--car and --bench they run against the demo car on a simulated bench.

With --shard 2/8 one of eight machines plays its part of the suites and leaves a record
whose outcome is PART: it ends 0 whatever its checks say. --join RECORD... then takes the
records of all parts, or folders with them, to the outcome, digest and exit code of one
machine.`,
		Example: `  hilrig run
  hilrig run split --car mycar.yaml --board built-in:left_right`,
		Annotations: map[string]string{usage.After: exitsAndEnvironment},
		RunE: func(c *cobra.Command, args []string) error {
			if f.join {
				return f.joinParts(c, args)
			}
			return f.run(c, args)
		},
	}
	f.inputFlags.add(c)
	f.live.add(c)
	f.exports.add(c)
	flags := c.Flags()
	flags.StringVar(&f.only, "only", "", "play only cases whose name contains `PATTERN`")
	flags.BoolVar(&f.fresh, "fresh", false, "restart the board before every case")
	flags.StringVar(&f.record, "record", "", "keep the record in a new folder under `DIR`; none keeps no record (default: the user's state folder)")
	flags.StringVar(&f.firmware, "firmware", "", "note the digest of `FILE` in the record")
	flags.StringVar(&f.label, "label", "", "note `TEXT` in the record")
	flags.StringVar(&f.against, "against", "", "compare with `RECORD`, its folder or label, or with last, the newest GO of the same car, bench and suites")
	flags.BoolVar(&f.verbose, "verbose", false, "show what the uncertainty of each failed or undecided check is made of")
	flags.BoolVar(&f.all, "all", false, "tell each check that failed or stayed open, however many lines that takes")
	addQuiet(c)
	flags.BoolVar(&f.json, "json", false, "print the result as JSON and nothing else")
	flags.StringVar(&f.shard, "shard", "", "play `PART` of the suites, 2/8 for the second of eight, and leave the rest to other machines")
	flags.BoolVar(&f.join, "join", false, "play nothing: take the records of all parts of a run, which are named, as one run")
	c.MarkFlagsMutuallyExclusive("shard", "join")
	c.MarkFlagsMutuallyExclusive("shard", "against")
	return c
}

// run plays the suites named by args.
func (f *runFlags) run(c *cobra.Command, args []string) error {
	f.exports.command = f.command
	if err := f.exports.possible(f.record, f.json); err != nil {
		return err
	}
	names, err := f.suites(c, args)
	if err != nil {
		return err
	}
	setup, err := f.loadFor(c, names)
	if err != nil {
		return err
	}
	g, err := againstNamed(f.against, f.record, setup, setup.Plan())
	if err != nil {
		return err
	}
	if err := f.live.on(c, setup); err != nil {
		return err
	}
	line := progressOf(c)
	var left suites.Remaining
	options := suites.Options{Only: f.only, Fresh: f.fresh, Workers: runtime.NumCPU(), Progress: func(p suites.Progress) {
		rest, _ := left.At(p, time.Now()) // nothing is reported where it is not known
		line.Show(progressLine(p, report.AboutLeft(rest.Seconds())))
	}}
	if f.shard != "" {
		shard, err := parts.ParseShard(f.shard)
		if err == nil {
			err = setup.Split(options, shard)
		}
		if err != nil {
			return err
		}
	}
	plan := setup.Plan()
	plan.Label = f.label
	if plan.Firmware, err = digestOf(f.firmware); err != nil {
		return err
	}
	k := &record.Writer{}
	if setup.Planned(options) > 0 {
		room := setup.RecordRoom(options)
		if err := hasRoom(f.record, room); err != nil {
			return err
		}
		if k, err = recordIn(f.record, plan, setup.Inputs()); err != nil {
			return err
		}
		defer func() { _ = k.Close() }() // Finish has reported what there was to report
		options.Case, options.Wires, options.Evidence, options.Moments = caseInto(k), wiresInto(k, plan), alongInto(k), k.Moments
		if !f.json {
			printHeading(screenOf(c).Beside(), plan)
		}
		if plan.Real != "" && k.Folder() != "" {
			fmt.Fprintf(c.ErrOrStderr(), "the record takes %s at most\n", record.Megabytes(room))
		}
	}
	began := time.Now()
	result, driving, err := setup.Run(c.Context(), options)
	line.Wipe()
	if result == nil {
		return err
	}
	result.Label, result.Firmware = plan.Label, plan.Firmware
	if result.Why = broken(c.Context(), err); result.Why == tripOf(c.Context()) {
		k.Tripped(result.Why, time.Now())
	}
	found := supervisorReported(c.Context(), k, setup.Denied())
	if result.Why == record.DidNotEnd {
		fmt.Fprintln(c.ErrOrStderr(), "hilrig:", err)
	}
	faults.Known().Mark(result)
	result.Seal()
	e := ending{driving: driving, wall: time.Since(began).Seconds(), folder: k.Folder(), wires: k.Dumps()}
	setup.KeepBoardWords(k)
	incomplete := k.Finish(result, e.wall, e.driving.Seconds())
	if incomplete != nil {
		fmt.Fprintln(c.ErrOrStderr(), "hilrig: warning:", incomplete)
	}
	if e.whole = incomplete == nil; e.whole && e.folder != "" {
		recorded(c, found)
	}
	f.end(c, result, e)
	code := exitOf(result.Outcome)
	if g != nil {
		code = graver(code, g.print(c, result, e, setup.Inputs(), f.json))
	}
	if err := f.exports.ofRun(c, result, k.Folder()); err != nil {
		fmt.Fprintln(c.ErrOrStderr(), "hilrig:", err)
		return endWith(graver(exitWrong, code))
	}
	return endWith(code)
}

// broken says why a run did not end, if it did not.
func broken(ctx context.Context, err error) string {
	switch trip := tripOf(ctx); {
	case err == nil:
		return ""
	case trip != "":
		return trip
	case ctx.Err() != nil:
		return record.Stopped
	}
	return record.DidNotEnd
}

// end prints the result: as JSON, or for a person.
func (f *runFlags) end(c *cobra.Command, r *record.Result, e ending) {
	out := screenOf(c)
	if f.json {
		_, _ = out.Writer.Write(r.JSON()) // out remembers what went wrong, as with every print
		printClosing(screenOn(c.ErrOrStderr()), r, e)
		return
	}
	printResult(out.Beside(), r, f.verbose, f.all)
	printClosing(out, r, e)
}

// mostFirmware is how many bytes a firmware may have: far more than a controller board holds.
const mostFirmware = 1 << 28

// digestOf returns the SHA-256 of a file in hex; empty where none is named.
func digestOf(path string) (string, error) {
	if path == "" {
		return "", nil
	}
	data, err := record.ReadRegular(path, mostFirmware)
	if err != nil {
		return "", fmt.Errorf("--firmware: %w", err)
	}
	return language.Source{Data: data}.Digest(), nil
}
