package search

import (
	"bytes"
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
	"slices"
	"strings"

	"hilrig/suites/report"
)

// Write writes the suite of each finding into a folder and returns the paths, of those that failed at one seed alone last. A file of
// that name that says something else stays, and the suite gets another name.
func (r *Result) Write(folder string) (paths []string, err error) {
	for _, f := range slices.Concat(r.Found, r.NotAgain) {
		path, err := writeNew(folder, f.File, []byte(f.Suite))
		if err != nil {
			return paths, err
		}
		paths = append(paths, path)
	}
	return paths, nil
}

// writeNew writes a file into a folder under the first name that is free or has the same content.
func writeNew(folder, name string, data []byte) (string, error) {
	stem, ext := strings.TrimSuffix(name, filepath.Ext(name)), filepath.Ext(name)
	for n := 1; ; n++ {
		path := filepath.Join(folder, name)
		there, err := os.ReadFile(path)
		switch {
		case errors.Is(err, fs.ErrNotExist):
			return path, report.WriteFile(path, data)
		case err != nil:
			return "", err
		case bytes.Equal(there, data):
			return path, nil
		}
		name = fmt.Sprintf("%s_%d%s", stem, n+1, ext)
	}
}

// Typed is what was typed of the files and the board that a search is for; empty: the default.
type Typed struct{ Car, Bench, Board, Command string }

// flags returns the flags with which hilrig run plays to the same.
func (t *Typed) flags(seed uint64) (text string) {
	for _, flag := range [][2]string{{"--car", t.Car}, {"--bench", t.Bench}, {"--board-command", t.Command}} {
		if flag[1] != "" {
			text += " " + flag[0] + " '" + strings.ReplaceAll(flag[1], "'", `'\''`) + "'"
		}
	}
	if t.Command == "" && t.Board != "" {
		text += " --board " + t.Board
	}
	return fmt.Sprintf("%s --seed %d", text, seed)
}

// inFolder says what is wrong with a folder that suites are to be written into; nil: nothing.
func inFolder(folder string) error {
	if info, err := os.Stat(folder); err != nil || !info.IsDir() {
		return fmt.Errorf("search: %s is no folder that suites can be written into; make it first, or name another", folder)
	}
	return nil
}

// Text says what the search came to, for a person: each finding with its suite, which stands at the path
// of the same number. What failed at the search's seed alone is played at that, as where it takes two edges that come close together.
func (r *Result) Text(paths []string) string {
	var b strings.Builder
	play := func(i int) {
		if i < len(paths) {
			fmt.Fprintf(&b, "\n  play it: hilrig run %s%s\n\n", paths[i], r.Flags)
		}
	}
	for i, f := range r.Found {
		fmt.Fprintf(&b, "%s\n  %s\n  first in drive %d; the shrunk drive fails at %s\n\n", f.Check, f.Why, f.Drive, seedsOf(&f))
		for line := range strings.Lines(f.Suite) {
			b.WriteString("    " + strings.TrimRight(line, "\n") + "\n")
		}
		play(i)
	}
	for i, f := range r.NotAgain {
		fmt.Fprintf(&b, "failed at seed %d and not at another: drive %d: %s: %s\n", r.Seed, f.Drive, f.Check, f.Why)
		play(len(r.Found) + i)
	}
	fmt.Fprintf(&b, "%s at seed %d, %d of them judged", report.Count(r.Drives, "drive"), r.Seed, r.Judged)
	if r.Forgotten > 0 {
		fmt.Fprintf(&b, ", %d with a check that had failed before", r.Forgotten)
	}
	fmt.Fprintf(&b, "; %s of values reached\n", report.Count(r.Reached, "combination"))
	if r.Stopped {
		b.WriteString("stopped before its end\n")
	}
	return b.String()
}

// Says is what the search came to in a few words.
func (r *Result) Says() string {
	switch n := len(r.Found); {
	case n > 0:
		return report.Count(n, "check") + " that a drive of their own makes fail"
	case r.Drives == 0:
		return "no drive was played"
	case r.Judged == 0:
		return "nothing was judged: the policy says too little of what is played, or the board commands nothing"
	case len(r.NotAgain) > 0:
		return "something failed at one seed and at no other"
	}
	return "which does not show that nothing is there"
}

// seedsOf lists the seeds at which a finding was confirmed.
func seedsOf(f *Finding) string {
	var all []string
	for _, seed := range f.Seeds {
		all = append(all, fmt.Sprint(seed))
	}
	text := "seeds " + strings.Join(all, ", ")
	if len(f.Seeds) == 1 {
		text = "seed " + all[0]
	}
	if !f.Confirmed {
		text += ", and was not confirmed at a third"
	}
	return text
}
