// Package terminal is text for a person, on a terminal or wherever else it goes: verdicts in colour, lines that fit the
// terminal's width, and a progress line.
//
// A [Screen] is where results go, [Progress] what is said meanwhile on standard error. On anything but a
// terminal a screen changes nothing of what is written to it.
//
// # Time
//
// What is said meanwhile goes by the machine's clock.
package terminal

import (
	"bytes"
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
	"hilrig/suites/search"
)

// Screen is where text for a person goes.
type Screen struct {
	io.Writer
	Colour bool // only ever repeats what the words say
	Width  int  // how many letters a line may have; 0: as many as it likes
	Rows   int  // how many lines are seen at once
	Quiet  bool // the outcome alone is wanted

	line line
}

// On returns the screen on w. It is in colour only on a terminal that
// knows some, and not where NO_COLOR is set (no-color.org).
func On(w io.Writer) *Screen {
	s := &Screen{Writer: w, Rows: usualRows}
	if !Is(w) {
		return s
	}
	s.Colour = os.Getenv("NO_COLOR") == "" && os.Getenv("TERM") != "dumb"
	s.Width, s.Rows = size(w)
	return s
}

// Aside returns a screen like s whose text goes to w.
func (s *Screen) Aside(w io.Writer) *Screen {
	return &Screen{Writer: w, Colour: s.Colour, Width: s.Width, Rows: s.Rows}
}

// Takes returns how many lines what print writes takes on this screen.
func (s *Screen) Takes(print func(s *Screen)) int {
	var b bytes.Buffer
	print(s.Aside(&b))
	return bytes.Count(b.Bytes(), []byte("\n"))
}

// Beside returns where that goes which stands beside the outcome: s, or nowhere where the outcome alone is wanted.
func (s *Screen) Beside() *Screen {
	if s.Quiet {
		return s.Aside(io.Discard)
	}
	return s
}

// TwoScreens is how many lines are read at once: two screens of 24 to 50 lines.
func (s *Screen) TwoScreens() int { return 2 * min(max(s.Rows, fewRows), manyRows) }

// How many lines a screen has that does not say, or says that it has very few or many; common practice, no source.
const (
	usualRows = 40
	fewRows   = 24
	manyRows  = 50
)

// descriptor is what an open file has.
type descriptor interface{ Fd() uintptr }

// Is reports whether w is a terminal.
func Is(w any) bool {
	f, ok := w.(descriptor)
	return ok && term.IsTerminal(int(f.Fd()))
}

// size returns how many letters fit on a line of the terminal w without touching its edge, and how many lines it has;
// 79 and 40 where it does not say.
func size(w io.Writer) (columns, rows int) {
	if f, ok := w.(descriptor); ok {
		if width, height, err := term.GetSize(int(f.Fd())); err == nil && width > 1 && height > 1 {
			return width - 1, height
		}
	}
	return 79, usualRows
}

// words are how verdicts and outcomes are shown where that differs from how
// they are kept: what is wrong has to be seen without colour.
var words = map[string]string{record.Fail: "FAIL", campaign.NotFound: "NOT FOUND", campaign.FalseAlarm: "FALSE ALARM"}

// NotWhole is the word before what is wrong with a record.
const NotWhole = "NOT WHOLE"

// tints are the colours of verdicts and outcomes: green, red, yellow.
var tints = map[string]string{
	record.Go: "32", record.Pass: "32", campaign.Found: "32", search.NothingFound: "32",
	record.NoGo: "31", record.Fail: "31", search.Found: "31", campaign.NotFound: "31", campaign.FalseAlarm: "31", NotWhole: "31",
	record.NotShown: "33", record.Undecided: "33", record.NotRun: "33",
}

// Verdict returns the word for a verdict or outcome, filled with blanks to
// width letters.
func (s *Screen) Verdict(v string, width int) string {
	word := v
	if w, ok := words[v]; ok {
		word = w
	}
	return s.Tinted(report.Pad(word, width), v)
}

// Tinted returns a text in the colour of a verdict or outcome.
func (s *Screen) Tinted(text, as string) string {
	if tint, ok := tints[as]; ok && s.Colour {
		return "\x1b[" + tint + "m" + text + "\x1b[0m"
	}
	return text
}

// Paragraph writes lines and a blank one, or nothing where there are none.
func (s *Screen) Paragraph(all []string) {
	if len(all) > 0 {
		fmt.Fprintln(s, strings.Join(all, "\n")+"\n")
	}
}

// JSON writes a result as JSON. Lines are as long as they are, for it is not for a person alone.
func (s *Screen) JSON(result any) error {
	data, err := json.MarshalIndent(result, "", "  ")
	if err == nil {
		_, err = fmt.Fprintf(s.Writer, "%s\n", data)
	}
	return err
}

// Visible returns what of a text can be seen: what moves a terminal's cursor or turns the order of
// letters is left out. It is for texts that others wrote.
func Visible(text string) string {
	return strings.Map(func(r rune) rune {
		if unicode.IsPrint(r) {
			return r
		}
		return -1
	}, text)
}
