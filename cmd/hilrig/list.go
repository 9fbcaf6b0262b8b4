package main

import (
	"fmt"
	"slices"
	"strings"

	"github.com/spf13/cobra"

	"hilrig/suites"
	"hilrig/suites/record"
	"hilrig/suites/report"
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
			names, err := f.suites(c, args)
			if err != nil {
				return err
			}
			setup, err := f.loadFor(c, names)
			if err != nil {
				return err
			}
			l := setup.List()
			s := screenOn(c.OutOrStdout())
			if asJSON {
				return s.JSON(l)
			}
			printList(s, l)
			return nil
		},
	}
	f.addFiles(c)
	c.Flags().BoolVar(&asJSON, "json", false, "print the list as JSON")
	return c
}

// asksOf says in a few words what is asked in the case.
func asksOf(c *suites.ListedCase) string {
	words := slices.Clone(c.Policy)
	if c.ByHand > 0 {
		words = append(words, fmt.Sprintf("%d by hand", c.ByHand))
	}
	if len(words) == 0 {
		return "nothing is asked"
	}
	return strings.Join(words, ", ")
}

// printList writes a list for a person.
func printList(s *screen, l *suites.List) {
	cases, driving := 0, 0.0
	for i := range l.Suites {
		suite := &l.Suites[i]
		cases += printListed(s, suite)
		driving += suite.DrivingS
	}
	s.Paragraph(report.NotAsked(l.NotAsked))
	fmt.Fprintf(s, "%s, %s, %.1f s of driving\n", count(len(l.Suites), "suite"), count(cases, "case"), driving)
}

// printListed writes one suite and returns how many cases of it are played.
func printListed(s *screen, l *suites.ListedSuite) (cases int) {
	fmt.Fprintf(s, "%s  (%s)\n", l.Name, l.File)
	for _, text := range lines(l.About) {
		fmt.Fprintf(s, "  %s\n", text)
	}
	var rows table
	for i := range l.Cases {
		c := &l.Cases[i]
		text := asksOf(c)
		if c.Skipped != "" {
			text = "skipped, " + c.Skipped
		} else {
			cases += len(c.Variants)
		}
		rows = append(rows, []string{c.Name, count(len(c.Variants), "variant"), report.Fixed(c.DrivingS, 1) + " s", text})
	}
	rows.Print(s, "  ", 1, 2)
	printPoints(s, l)
	printNotes(s, "  not asked  ", l.NotAsked)
	fmt.Fprintf(s, "  %s, %.1f s; %s\n\n", count(cases, "case"), l.DrivingS, l.Longest)
	return cases
}

// printPoints writes for each case what its points of the policy come to, in its first variant.
func printPoints(s *screen, l *suites.ListedSuite) {
	var rows table
	for i := range l.Cases {
		if c := &l.Cases[i]; len(c.Points) > 0 {
			rows = append(rows, []string{c.Name, c.Points[0]})
		}
	}
	rows.Print(s, "  played at  ")
}

// printNotes writes a line for each note, aligned.
func printNotes(s *screen, before string, notes []record.Note) {
	var rows table
	for _, n := range notes {
		rows = append(rows, []string{n.Key, n.Text})
	}
	rows.Print(s, before)
}
