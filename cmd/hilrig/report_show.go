package main

import (
	"fmt"
	"strings"

	"hilrig/suites/record"
	"hilrig/suites/report"
	"hilrig/suites/terminal"
)

// showRecord writes a record as its run did, before anything else what is wrong with it; all as run --all does.
func showRecord(s *screen, r *record.Record, all bool) {
	printWrong(s, r)
	if ofStand(r.Result) {
		printStandHeading(s, r.Result)
		printUnmet(s, r.Result)
		printPicture(s, r.Folder)
		printFigures(s, r.Result)
	} else {
		printHeading(s, r.Result)
		printResult(s, r.Result, false, all)
	}
	fmt.Fprintf(s, "%s  %s\n", s.Verdict(r.Result.Outcome, 0), report.Summary(r.Result))
	facts := []string{}
	if r.Host.Began != "" {
		facts = append(facts, "began "+r.Host.Began)
	}
	if r.Host.DrivingS > 0 {
		facts = append(facts, fmt.Sprintf("driven %.1f s in %.1f s", r.Host.DrivingS, r.Host.WallS))
	}
	if len(r.Wrong()) == 0 {
		facts = append(facts, fmt.Sprintf("digest %.12s", r.Result.Digest))
	}
	fmt.Fprintln(s, strings.Join(append(facts, "kept in "+r.Folder), ", "))
	if forms := record.Forms(r.Folder); len(forms) > 0 {
		fmt.Fprintf(s, "in its folder forms: %s\n", strings.Join(forms, ", "))
	}
}

// mostPicture is how much of a picture in letters is shown; one has about 4 kB.
const mostPicture = 1 << 16

// printPicture writes the characteristic of the first held condition in letters, as its run did. A record without one has nothing
// that was drawn. Of what others wrote only what can be seen is shown.
func printPicture(s *screen, folder string) {
	text, err := record.ReadForm(folder, pictureName(0), mostPicture)
	if err != nil {
		return
	}
	for line := range strings.Lines(string(text)) {
		fmt.Fprintln(s, terminal.Visible(line))
	}
	fmt.Fprintln(s)
}

// printWrong writes a line for each reason why a record is no evidence of a whole run, and
// one for what of it could not be written.
func printWrong(s *screen, r *record.Record) {
	wrong := r.Wrong()
	for _, text := range wrong {
		fmt.Fprintf(s, "%s  %s\n", s.Verdict(terminal.NotWhole, 0), text)
	}
	if len(r.Host.Missing) > 0 {
		fmt.Fprintf(s, "the record lacks %s: this could not be written when it was made\n", strings.Join(r.Host.Missing, ", "))
	}
	if len(wrong)+len(r.Host.Missing) > 0 {
		fmt.Fprintln(s)
	}
}
