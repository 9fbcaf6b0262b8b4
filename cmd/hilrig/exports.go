package main

import (
	"errors"
	"fmt"
	"io"

	"github.com/spf13/cobra"

	"hilrig/suites/record"
	"hilrig/suites/report"
)

// exportFlags are the flags that write a record in the forms of other programs.
type exportFlags struct {
	junit, tap, csv, html string
	command               boardCommand // that plays moments again for the page
}

// add adds the flags to a command.
func (f *exportFlags) add(c *cobra.Command) {
	flags := c.Flags()
	flags.StringVar(&f.junit, "junit", "", "write the checks as a JUnit report to `FILE`; - is standard output")
	flags.StringVar(&f.tap, "tap", "", "write the checks in the Test Anything Protocol to `FILE`; - is standard output")
	flags.StringVar(&f.html, "html", "", "write one page to read, print and pass on to `FILE`; - is standard output")
	flags.StringVar(&f.csv, "csv", "", "write tables of checks, cases and of each case's channels and commands into the folder `DIR`")
}

// asked says whether any form is asked for.
func (f *exportFlags) asked() bool {
	return f.junit != "" || f.tap != "" || f.csv != "" || f.html != ""
}

// tables says whether a form is asked for that has a line for each check.
func (f *exportFlags) tables() bool { return f.junit != "" || f.tap != "" || f.csv != "" }

// write writes the forms that are asked for.
func (f *exportFlags) write(c *cobra.Command, r *record.Record) error {
	var failed error
	for _, form := range []struct {
		path  string
		write func(io.Writer, *record.Record) error
	}{{f.junit, report.JUnit}, {f.tap, report.TAP}} {
		if form.path != "" {
			failed = errors.Join(failed, writeTo(form.path, c.OutOrStdout(), func(out io.Writer) error { return form.write(out, r) }))
		}
	}
	if f.html != "" {
		failed = errors.Join(failed, writePage(c, f.html, r, f.command))
	}
	if f.csv != "" {
		failed = errors.Join(failed, report.CSV(f.csv, r))
	}
	return failed
}

// ofRun writes the forms of a run that has ended. Its record is read back where there is one.
func (f *exportFlags) ofRun(c *cobra.Command, r *record.Result, folder string) error {
	if !f.asked() {
		return nil
	}
	of := &record.Record{Result: r, Host: host(), Ended: true}
	if folder != "" {
		read, err := record.Read(folder)
		if err != nil {
			return err
		}
		of = read
	}
	return f.write(c, of)
}

// possible says by its error where the forms cannot be written of a run.
func (f *exportFlags) possible(home string, json bool) error {
	if f.csv != "" && home == noRecord {
		return errors.New("--csv takes what was commanded from the record; leave out --record none")
	}
	if onto := boolCount(json, f.junit == "-", f.tap == "-", f.html == "-"); onto > 1 {
		return fmt.Errorf("%d forms would be written to standard output, one after the other; name files for all but one", onto)
	}
	return nil
}

// boolCount returns how many of all are true.
func boolCount(all ...bool) (n int) {
	for _, x := range all {
		if x {
			n++
		}
	}
	return n
}
