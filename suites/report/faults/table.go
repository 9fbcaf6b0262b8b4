// Package faults is what the seeded faults of the built-in boards make of the standard suites: for each
// fault the checks that fail with it. [Known] is the table that the program carries; package campaign
// plays it and [Table.Write] writes it.
//
// A [Key] names a check so that it is the same one for any car and any seed: by suite, case, variant and name, without
// the numbers of a policy. Suites of the owner's own have no keys, and of their checks the table says nothing.
//
// # Sources
//
// The file has one JSON text (RFC 8259) a line.
package faults

import (
	"bytes"
	_ "embed"
	"maps"
	"path"
	"regexp"
	"slices"
	"strings"
	"sync"

	"hilrig/suites/record"
)

// Key names a check of a standard suite.
type Key struct {
	Suite   string // "split", as it is asked for
	Case    string
	Variant string
	Check   string // its name with N for each number
	Nth     int    // of the checks of this name in the case, counted from 0
}

// Verdicts are the verdicts of checks: [record.Pass], [record.Fail] or [record.Undecided].
type Verdicts map[Key]string

// Table is what each seeded fault makes of the standard suites.
type Table struct{ Boards []*Board }

// Board is a built-in board with its faults.
type Board struct {
	Name   string   // "built-in"
	Sound  Verdicts // what passes on the board without a fault
	Faults []*Fault // by name
}

// Fault is a seeded fault.
type Fault struct {
	Board, Name string
	// Unmet are the checks that fail or stay open with the fault, and not without it; what was not
	// judged with it, though it was without, is [record.NotRun].
	Unmet Verdicts
}

// Title names the fault as a board that has it is called.
func (f *Fault) Title() string { return f.Board + ":" + f.Name }

//go:embed faults.jsonl
var known []byte

// Known returns the table that the program carries; of what has not been played for it, it says nothing. It is shared: nobody may change it. The file that it is
// read from is part of the program, and one that cannot be read is a programmer's mistake.
var Known = sync.OnceValue(func() *Table {
	t, err := Read(bytes.NewReader(known))
	if err != nil {
		panic("faults.jsonl: " + err.Error())
	}
	return t
})

// standardFolder is what the paths of the standard suites begin with.
const standardFolder = "standard/"

// SuiteOf returns the name of the standard suite that a file is, and whether it is one.
func SuiteOf(file string) (name string, ok bool) {
	if !strings.HasPrefix(file, standardFolder) {
		return "", false
	}
	return strings.TrimSuffix(path.Base(file), ".yaml"), true
}

var numbers = regexp.MustCompile(`[0-9]+(\.[0-9]+)?`)

// plain returns the name of a check without the numbers of the policy.
func plain(check string) string { return numbers.ReplaceAllString(check, "N") }

// VerdictsOf returns the verdicts of a result's standard suites.
func VerdictsOf(r *record.Result) Verdicts {
	all := Verdicts{}
	for i := range r.Suites {
		suite, ok := SuiteOf(r.Suites[i].File)
		if !ok {
			continue
		}
		for j := range r.Suites[i].Cases {
			all.add(suite, &r.Suites[i].Cases[j])
		}
	}
	return all
}

// add takes the verdicts of a case in.
func (v Verdicts) add(suite string, c *record.Case) {
	times := map[string]int{}
	for i := range c.Checks {
		k := &c.Checks[i]
		name := plain(k.Name)
		switch k.Verdict {
		case record.Pass, record.Fail, record.Undecided:
			v[Key{suite, c.Name, c.Variant, name, times[name]}] = k.Verdict
		}
		times[name]++
	}
}

// Sound returns a board of this name without faults yet; the result is that of the board without a fault, all of whose
// checks passed.
func Sound(name string, r *record.Result) *Board { return &Board{Name: name, Sound: VerdictsOf(r)} }

// Add adds a fault to the board by what came of the standard suites with it.
func (b *Board) Add(name string, r *record.Result) {
	f := &Fault{Board: b.Name, Name: name, Unmet: Verdicts{}}
	got := VerdictsOf(r)
	for key, verdict := range got {
		if verdict != record.Pass {
			f.Unmet[key] = verdict
		}
	}
	for key := range b.Sound {
		if got[key] == "" {
			f.Unmet[key] = record.NotRun
		}
	}
	b.Faults = append(b.Faults, f)
}

// Keep takes over from an older table what it has of those of the suites of which this one has nothing, for the boards and
// faults that this one has. What the older table does not have of a fault was not judged with it.
func (t *Table) Keep(older *Table, suites []string) {
	for _, b := range t.Boards {
		for _, was := range older.Boards {
			if was.Name == b.Name {
				b.keep(was, suites)
			}
		}
	}
}

// keep does so for a board.
func (b *Board) keep(was *Board, suites []string) {
	made := map[string]bool{}
	for key := range b.Sound {
		made[key.Suite] = true
	}
	suites = slices.DeleteFunc(slices.Clone(suites), func(name string) bool { return made[name] })
	kept := was.Sound.of(suites)
	for _, f := range b.Faults {
		rows := kept.all(record.NotRun)
		for _, old := range was.Faults {
			if old.Name == f.Name {
				rows = old.Unmet.of(suites)
			}
		}
		maps.Copy(f.Unmet, rows)
	}
	maps.Copy(b.Sound, kept)
}

// of returns the verdicts of these suites.
func (v Verdicts) of(suites []string) Verdicts {
	rest := maps.Clone(v)
	maps.DeleteFunc(rest, func(key Key, _ string) bool { return !slices.Contains(suites, key.Suite) })
	return rest
}

// all returns the same keys with one verdict.
func (v Verdicts) all(verdict string) Verdicts {
	same := Verdicts{}
	for key := range v {
		same[key] = verdict
	}
	return same
}
