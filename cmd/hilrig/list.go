package main

import (
	"encoding/json"
	"fmt"
	"slices"
	"strings"

	"github.com/spf13/cobra"

	"hilrig/assertions"
	"hilrig/suites"
	"hilrig/suites/file"
	"hilrig/suites/record"
	"hilrig/suites/standard"
)

// newList returns the command that shows what a run would play.
func newList() *cobra.Command {
	f := inputFlags{seed: 1}
	var asJSON bool
	c := &cobra.Command{
		Use:   "list [SUITE...]",
		Short: "show what a run would play, ask and leave out",
		Long: `Shows each suite with its cases: in how many variants each is played, how long
that takes in the board's time, and what is asked of the board: situations of
the policy, and expectations that the suite writes by hand. What the policy
leaves out is not asked, and listed as such. Nothing is played.`,
		Example: `  hilrig list
  hilrig list mysuite.yaml --car mycar.yaml --bench mybench.yaml`,
		RunE: func(c *cobra.Command, args []string) error {
			if len(args) == 0 {
				args = standard.Names()
			}
			setup, err := f.loadFor(c, args)
			if err != nil {
				return err
			}
			l := listOf(setup)
			s := screenOn(c.OutOrStdout())
			if asJSON {
				data, err := json.MarshalIndent(l, "", "  ")
				if err == nil {
					fmt.Fprintf(s, "%s\n", data)
				}
				return err
			}
			l.print(s)
			return nil
		},
	}
	f.addFiles(c)
	c.Flags().BoolVar(&asJSON, "json", false, "print the list as JSON")
	return c
}

// list is what a run would play.
type list struct {
	Suites   []listedSuite `json:"suites"`
	NotAsked []record.Note `json:"not_asked,omitempty"` // policy keys that the car file leaves out
}

// listedSuite is one suite of a list.
type listedSuite struct {
	Name     string        `json:"name"`
	About    string        `json:"about"`
	File     string        `json:"file"`
	DrivingS float64       `json:"driving_s"` // with power-up
	Longest  string        `json:"longest"`   // its longest case, in words
	Cases    []listedCase  `json:"cases"`
	NotAsked []record.Note `json:"not_asked,omitempty"` // situations that the policy says nothing about
}

// listedCase is one case of a list with all its variants.
type listedCase struct {
	Name     string   `json:"name"`
	Line     int      `json:"line"`
	Variants []string `json:"variants"` // one empty word where there is no each
	DrivingS float64  `json:"driving_s"`
	Policy   []string `json:"policy"`            // situations that are asked, each once
	ByHand   int      `json:"by_hand"`           // expectations that the suite writes by hand
	Skipped  string   `json:"skipped,omitempty"` // why it would not be played
}

// listOf lists what a setup would play.
func listOf(setup *suites.Setup) *list {
	plan := setup.Plan()
	l := &list{NotAsked: plan.NotAsked}
	for _, suite := range setup.Suites {
		out := listedSuite{Name: suite.Name, About: suite.About, File: suite.Source.Path, DrivingS: setup.SuiteLength(suite).Seconds(), Longest: file.LongestOf(suite, setup.Bench)}
		for i := range suite.Cases {
			out.add(setup, suite, &suite.Cases[i])
		}
		l.Suites = append(l.Suites, out)
	}
	return l
}

// add takes in one expanded case.
func (l *listedSuite) add(setup *suites.Setup, suite *file.Suite, c *file.Case) {
	n := len(l.Cases)
	if n == 0 || l.Cases[n-1].Line != c.Place.Line {
		l.Cases = append(l.Cases, listedCase{Name: c.Name, Line: c.Place.Line, Policy: []string{}})
		n++
		l.expect(&l.Cases[n-1], &setup.Car.Policy, c)
	}
	out := &l.Cases[n-1]
	out.Variants = append(out.Variants, c.Variant)
	if c.UpTo < setup.Bench.Power {
		out.Skipped = "may be played up to " + c.UpTo.String()
		return
	}
	out.DrivingS += setup.Length(suite, c).Seconds()
}

// expect sorts a case's expectations into those of the policy, those by hand
// and those that are not asked.
func (l *listedSuite) expect(out *listedCase, policy *assertions.Policy, c *file.Case) {
	for i := range c.Expect {
		branch, ok := c.Expect[i].Check.(assertions.PolicyBranch)
		if !ok {
			out.ByHand++
			continue
		}
		// Without a trace a situation can tell one thing: that it is not asked.
		if r := assertions.Judge(branch, &assertions.Evidence{Policy: policy}); len(r) == 1 && r[0].Verdict == assertions.NotAsked {
			note := record.Note{Key: branch.Of, Text: r[0].Why}
			if !slices.Contains(l.NotAsked, note) {
				l.NotAsked = append(l.NotAsked, note)
			}
		} else if !slices.Contains(out.Policy, branch.Of) {
			out.Policy = append(out.Policy, branch.Of)
		}
	}
}

// asks says in a few words what is asked in the case.
func (c *listedCase) asks() string {
	words := slices.Clone(c.Policy)
	if c.ByHand > 0 {
		words = append(words, fmt.Sprintf("%d by hand", c.ByHand))
	}
	if len(words) == 0 {
		return "nothing is asked"
	}
	return strings.Join(words, ", ")
}

// print writes the list for a person.
func (l *list) print(s *screen) {
	cases, driving := 0, 0.0
	for i := range l.Suites {
		suite := &l.Suites[i]
		cases += suite.print(s)
		driving += suite.DrivingS
	}
	printNotes(s, "not asked  ", l.NotAsked)
	if len(l.NotAsked) > 0 {
		fmt.Fprintln(s)
	}
	fmt.Fprintf(s, "%s, %s, %.1f s of driving\n", count(len(l.Suites), "suite"), count(cases, "case"), driving)
}

// print writes one suite and returns how many cases of it are played.
func (l *listedSuite) print(s *screen) (cases int) {
	fmt.Fprintf(s, "%s  (%s)\n", l.Name, l.File)
	for _, text := range lines(l.About) {
		fmt.Fprintf(s, "  %s\n", text)
	}
	var names, variants, times []string
	for i := range l.Cases {
		c := &l.Cases[i]
		names = append(names, c.Name)
		variants = append(variants, count(len(c.Variants), "variant"))
		times = append(times, fixed(c.DrivingS, 1)+" s")
	}
	for i := range l.Cases {
		c := &l.Cases[i]
		text := c.asks()
		if c.Skipped != "" {
			text = "skipped, " + c.Skipped
		} else {
			cases += len(c.Variants)
		}
		fmt.Fprintf(s, "  %s  %s  %s  %s\n", pad(c.Name, widest(names...)), padLeft(variants[i], widest(variants...)),
			padLeft(times[i], widest(times...)), text)
	}
	printNotes(s, "  not asked  ", l.NotAsked)
	fmt.Fprintf(s, "  %s, %.1f s; %s\n\n", count(cases, "case"), l.DrivingS, l.Longest)
	return cases
}

// printNotes writes a line for each note, aligned.
func printNotes(s *screen, before string, notes []record.Note) {
	width := 0
	for _, n := range notes {
		width = max(width, widest(n.Key))
	}
	for _, n := range notes {
		fmt.Fprintf(s, "%s%s  %s\n", before, pad(n.Key, width), n.Text)
	}
}
