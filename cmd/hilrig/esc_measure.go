package main

import (
	"bytes"
	"errors"
	"fmt"
	"path/filepath"
	"strings"
	"time"

	"github.com/spf13/cobra"

	"hilrig/suites/esc"
	"hilrig/suites/record"
	"hilrig/suites/report"
)

// measure measures, keeps the record and prints.
func (f *escFlags) measure(c *cobra.Command, setup *esc.Setup, inputs []record.Input) error {
	plan := setup.Plan()
	plan.Label = f.label
	k, err := recordIn(f.record, plan, inputs)
	if err != nil {
		return err
	}
	defer func() { _ = k.Close() }() // Finish has reported what there was to report
	line := progressOf(c)
	began := time.Now()
	o, err := setup.Run(c.Context(), esc.Options{Progress: func(p esc.Progress) { line.Show(standProgress(&p)) }})
	line.Wipe()
	if o == nil {
		k.Discard()
		return err
	}
	var tripped *esc.Tripped
	if err != nil && c.Context().Err() == nil && !errors.As(err, &tripped) {
		fmt.Fprintln(c.ErrOrStderr(), "hilrig:", err)
	}
	r := o.Result
	r.Label = f.label
	if trip := tripOf(c.Context()); trip != "" {
		r.Why = trip
		k.Tripped(trip, time.Now())
	}
	found := supervisorReported(c.Context(), k, setup.Real.WasDenied())
	r.Seal()
	e := ending{driving: o.Driving, wall: time.Since(began).Seconds(), folder: k.Folder()}
	incomplete := keepOutcome(k, setup, o, e)
	if incomplete != nil {
		fmt.Fprintln(c.ErrOrStderr(), "hilrig: warning:", incomplete)
	}
	if e.whole = incomplete == nil; e.whole && e.folder != "" {
		recorded(c, found)
	}
	if err := errors.Join(f.give(c, setup, o, e), (&exportFlags{html: f.html}).ofRun(c, r, e.folder)); err != nil {
		return err
	}
	if tripped != nil {
		return endWith(exitTripped)
	}
	return endWith(exitOf(r.Outcome))
}

// keepOutcome keeps all of an outcome, in its other forms too. Its error says what it could not.
func keepOutcome(k *record.Writer, setup *esc.Setup, o *esc.Outcome, e ending) error {
	r := o.Result
	for i := range r.Suites {
		for j := range r.Suites[i].Cases {
			_ = k.Case(i, j, r.Suites[i].Cases[j]) // Finish tells
		}
	}
	_ = k.Form(esc.ReadingsName, o.Readings())
	for i, set := range o.Sets {
		if svg, err := report.CharacteristicOf(set, setup.Stand.Limits).SVG(); err == nil {
			_ = k.Form(fmt.Sprintf("characteristic-%d.svg", i+1), svg)
		}
		_ = k.Form(pictureName(i), []byte(strings.Join(report.CharacteristicOf(set, setup.Stand.Limits).Text(), "\n")+"\n"))
		if o.Tables[i] == nil {
			continue
		}
		for _, ext := range []string{".csv", ".h"} {
			if data, err := tableAs(o, i, ext); err == nil {
				_ = k.Form(fmt.Sprintf("table-%d%s", i+1, ext), data)
			}
		}
	}
	return k.Finish(r, e.wall, e.driving.Seconds())
}

// pictureName is the form of a record that keeps a set's characteristic in letters.
func pictureName(set int) string { return fmt.Sprintf("characteristic-%d.txt", set+1) }

// tableAs returns the correction table of a set in the form that a file of that ending has.
func tableAs(o *esc.Outcome, set int, ext string) ([]byte, error) {
	var b bytes.Buffer
	if ext == ".h" {
		err := o.Tables[set].C(&b, "throttle_table")
		return b.Bytes(), err
	}
	err := o.Tables[set].CSV(&b)
	return b.Bytes(), err
}

// give writes the files that were asked for, and prints.
func (f *escFlags) give(c *cobra.Command, setup *esc.Setup, o *esc.Outcome, e ending) error {
	set := f.shown(o)
	errs := errors.Join(f.draw(setup, o, set), f.tabulate(o, set))
	out := screenOf(c)
	if f.json {
		_, _ = out.Writer.Write(o.Result.JSON()) // out remembers what went wrong, as with every print
		out = screenOn(c.ErrOrStderr())
	} else {
		beside := out.Beside()
		printStandHeading(beside, o.Result)
		if set >= 0 {
			beside.Paragraph(report.CharacteristicOf(o.Sets[set], setup.Stand.Limits).Text())
		}
		printFigures(beside, o.Result)
		printUnmet(beside, o.Result)
	}
	printClosing(out, o.Result, e)
	return errs
}

// shown returns which set is drawn and tabulated; -1 where there is none.
func (f *escFlags) shown(o *esc.Outcome) int {
	for i, set := range o.Sets {
		if strings.Contains(set.Held, f.held) {
			return i
		}
	}
	return -1
}

// draw draws a set's characteristic into the file that was named.
func (f *escFlags) draw(setup *esc.Setup, o *esc.Outcome, set int) error {
	if f.svg == "" {
		return nil
	}
	if set < 0 {
		return fmt.Errorf("esc: --svg %s: nothing was read that can be drawn", f.svg)
	}
	svg, err := report.CharacteristicOf(o.Sets[set], setup.Stand.Limits).SVG()
	if err != nil {
		return fmt.Errorf("esc: %w", err)
	}
	return report.WriteFile(f.svg, svg)
}

// tabulate writes a set's correction table into the file that was named.
func (f *escFlags) tabulate(o *esc.Outcome, set int) error {
	switch {
	case f.table == "":
		return nil
	case set < 0:
		return fmt.Errorf("esc: --table %s: nothing was read that can be tabulated", f.table)
	case o.Tables[set] == nil:
		return fmt.Errorf("esc: --table %s is not written: %s", f.table, o.NotInvertible[set])
	}
	data, err := tableAs(o, set, filepath.Ext(f.table))
	if err != nil {
		return fmt.Errorf("esc: %w", err)
	}
	return report.WriteFile(f.table, data)
}

// standProgress says how far a run on a stand has come.
func standProgress(p *esc.Progress) string {
	return fmt.Sprintf("%d of %d  %.0f s driven  %s", p.Done, p.Total, p.Driving.Seconds(), p.What)
}
