package main

import (
	"fmt"
	"math"
	"strings"

	"hilrig/rig/signal"
	"hilrig/suites/record"
)

// group is the variants of one case that were played: what one line of the
// output is about.
type group struct {
	name   string
	cases  int
	checks []*record.Check // that were asked
}

// unplayed counts the cases of a suite that were not played for one reason.
type unplayed struct {
	reason string // "skipped, may be played up to signals_only"
	cases  int
}

// groups puts a suite's cases together by their names, in the order of the
// first of each, and apart from them by their reasons those not played.
func groups(s *record.Suite) (played []*group, left []*unplayed) {
	named := map[string]*group{}
	reasons := map[string]*unplayed{}
	for i := range s.Cases {
		c := &s.Cases[i]
		if c.Verdict == record.NotRun || c.Verdict == record.Skipped {
			reason := c.Verdict + ", " + c.Why
			if reasons[reason] == nil {
				reasons[reason] = &unplayed{reason: reason}
				left = append(left, reasons[reason])
			}
			reasons[reason].cases++
			continue
		}
		if named[c.Name] == nil {
			named[c.Name] = &group{name: c.Name}
			played = append(played, named[c.Name])
		}
		named[c.Name].add(c)
	}
	return played, left
}

// add takes a played case into the group.
func (g *group) add(c *record.Case) {
	g.cases++
	for i := range c.Checks {
		if c.Checks[i].Verdict != record.NotAsked {
			g.checks = append(g.checks, &c.Checks[i])
		}
	}
}

// tally counts the group's checks with a verdict.
func (g *group) tally(verdict string) int {
	n := 0
	for _, c := range g.checks {
		if c.Verdict == verdict {
			n++
		}
	}
	return n
}

// verdict is the worst of the group's checks.
func (g *group) verdict() string {
	worst := record.NotAsked
	for _, c := range g.checks {
		worst = record.Worse(worst, c.Verdict)
	}
	return worst
}

// figure is the one thing worth knowing of the group on its line.
func (g *group) figure() string {
	switch v := g.verdict(); v {
	case record.Fail, record.Undecided:
		return fmt.Sprintf("%d of %s", g.tally(v), count(len(g.checks), "check"))
	case record.Pass:
		return g.closest()
	}
	return ""
}

// closest tells of the passed check that came nearest to its limit, measured
// by the size of the limit.
func (g *group) closest() string {
	least := math.Inf(1)
	var text string
	for _, c := range g.checks {
		left, near, ok := room(c)
		if !ok || c.Verdict != record.Pass {
			continue
		}
		share := left / math.Abs(near)
		if near == 0 {
			share = left / reach(c)
		}
		if share < least {
			least = share
			text = "least room " + signal.Digits(left, 2) + unit(c.Unit) + ": " + c.Name
		}
	}
	return text
}

// reach is how far from 0 a check's interval goes; an end that is open is left out.
func reach(c *record.Check) float64 {
	most := 0.0
	for _, end := range []*float64{c.Low, c.High} {
		if end != nil {
			most = max(most, math.Abs(*end))
		}
	}
	return most
}

// printGroups writes a line for each group of each suite, and one for each
// reason why cases were not played.
func printGroups(s *screen, r *record.Result) {
	for i := range r.Suites {
		suite := &r.Suites[i]
		fmt.Fprintf(s, "%s  (%s)\n", suite.Name, suite.File)
		played, left := groups(suite)
		printPlayedGroups(s, played)
		for _, u := range left {
			fmt.Fprintf(s, "  %s: %s\n", count(u.cases, "case"), u.reason)
		}
		if text := keptTime(suite.Timing); text != "" {
			fmt.Fprintln(s, "  "+text)
		}
		fmt.Fprintln(s)
	}
}

// printPlayedGroups writes a line for each group, aligned.
func printPlayedGroups(s *screen, all []*group) {
	var names, variants, checks []string
	for _, g := range all {
		names = append(names, g.name)
		variants = append(variants, count(g.cases, "variant"))
		checks = append(checks, count(len(g.checks), "check"))
	}
	for i, g := range all {
		text := fmt.Sprintf("  %s  %s  %s  %s  %s", pad(names[i], widest(names...)),
			padLeft(variants[i], widest(variants...)), padLeft(checks[i], widest(checks...)),
			s.verdict(g.verdict(), len(record.Undecided)), g.figure())
		fmt.Fprintln(s, strings.TrimRight(text, " "))
	}
}
