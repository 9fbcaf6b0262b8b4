package main

import (
	"encoding/json"
	"fmt"
	"io"
	"os"
	"strings"
	"unicode"

	"golang.org/x/term"

	"hilrig/suites/campaign"
	"hilrig/suites/record"
	"hilrig/suites/report"
)

// screen is where text for a person goes.
type screen struct {
	io.Writer
	colour bool // only ever repeats what the words say
}

// screenOn returns the screen on w. It is in colour only on a terminal that
// knows some, and not where NO_COLOR is set (no-color.org).
func screenOn(w io.Writer) *screen {
	return &screen{Writer: w, colour: isTerminal(w) && os.Getenv("NO_COLOR") == "" && os.Getenv("TERM") != "dumb"}
}

// descriptor is what an open file has.
type descriptor interface{ Fd() uintptr }

// isTerminal reports whether w is a terminal.
func isTerminal(w io.Writer) bool {
	f, ok := w.(descriptor)
	return ok && term.IsTerminal(int(f.Fd()))
}

// columns returns how many letters fit on a line of the terminal w without
// touching its edge; 79 where it does not say.
func columns(w io.Writer) int {
	if f, ok := w.(descriptor); ok {
		if width, _, err := term.GetSize(int(f.Fd())); err == nil && width > 1 {
			return width - 1
		}
	}
	return 79
}

// words are how verdicts and outcomes are shown where that differs from how
// they are kept: what is wrong has to be seen without colour.
var words = map[string]string{record.Fail: "FAIL", campaign.NotFound: "NOT FOUND", campaign.FalseAlarm: "FALSE ALARM"}

// notWhole is the word before what is wrong with a record.
const notWhole = "NOT WHOLE"

// tints are the colours of verdicts and outcomes: green, red, yellow.
var tints = map[string]string{
	record.Go: "32", record.Pass: "32", campaign.Found: "32",
	record.NoGo: "31", record.Fail: "31", campaign.NotFound: "31", campaign.FalseAlarm: "31", notWhole: "31",
	record.NotShown: "33", record.Undecided: "33", record.NotRun: "33",
}

// verdict returns the word for a verdict or outcome, filled with blanks to
// width letters.
func (s *screen) verdict(v string, width int) string {
	word := v
	if w, ok := words[v]; ok {
		word = w
	}
	text := report.Pad(word, width)
	if tint, ok := tints[v]; ok && s.colour {
		return "\x1b[" + tint + "m" + text + "\x1b[0m"
	}
	return text
}

// visible returns what of a text can be seen: what moves a terminal's cursor or turns the order of
// letters is left out. It is for texts that others wrote.
func visible(text string) string {
	return strings.Map(func(r rune) rune {
		if unicode.IsPrint(r) {
			return r
		}
		return -1
	}, text)
}

// table is text in columns.
type table = report.Table

// count writes "1 check" or "3 checks".
func count(n int, noun string) string { return report.Count(n, noun) }

// printJSON writes a result as JSON.
func printJSON(w io.Writer, result any) error {
	data, err := json.MarshalIndent(result, "", "  ")
	if err == nil {
		_, err = fmt.Fprintf(w, "%s\n", data)
	}
	return err
}
