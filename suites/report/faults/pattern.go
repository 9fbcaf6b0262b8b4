package faults

import (
	"regexp"
	"slices"
	"strings"

	"hilrig/assertions"
	"hilrig/suites/record"
	"hilrig/suites/report"
)

// situation is what a check is asked in, at one operating point: a case in one variant, which has the sense of
// the turn, and what is asked there of any motor. Which motor moves, and which way, is for the policy to say, so
// that a situation is the same one under another policy.
type situation struct{ suite, name, variant, asks string }

var ways = regexp.MustCompile(`\b(raised|lowered|rises|falls)\b`)

// asks returns what a check asks of any motor.
func asks(check string) string { return ways.ReplaceAllString(report.AnyMotor(check), "moved") }

// grade is what a check, or the worst check of a situation, came to; a greater one is worse.
type grade byte

const (
	notJudged grade = iota
	passed
	open
	failed
)

// grades of verdicts; of any other it is notJudged.
var grades = map[string]grade{record.Pass: passed, record.Undecided: open, record.Fail: failed}

// numbering gives checks and situations their places in patterns.
type numbering struct {
	checks     map[Key]int
	situations map[situation]int
	at         []int             // the situation of each check
	asked      map[string]string // what checks ask, by their names
	// What each check and each situation counts.
	checkCounts, situationCounts []float64
}

// What is asked of every command says little beside the case's own checks, whose failures it repeats, and passes where the policy
// leaves much out.
const everyCommandCounts = 0.1

// counts returns what a check of this name counts.
func counts(check string) float64 {
	if check == assertions.EveryCommand {
		return everyCommandCounts
	}
	return 1
}

func newNumbering() *numbering {
	return &numbering{checks: map[Key]int{}, situations: map[situation]int{}, asked: map[string]string{}}
}

// place returns the place of a check, a new one where it has none.
func (n *numbering) place(k Key) int {
	i, ok := n.checks[k]
	if ok {
		return i
	}
	asked, ok := n.asked[k.Check]
	if !ok {
		asked = asks(k.Check)
		n.asked[k.Check] = asked
	}
	s := situation{k.Suite, k.Case, k.Variant, asked}
	at, ok := n.situations[s]
	if !ok {
		at = len(n.situations)
		n.situations[s] = at
		n.situationCounts = append(n.situationCounts, counts(k.Check))
	}
	i = len(n.at)
	n.checks[k] = i
	n.at = append(n.at, at)
	n.checkCounts = append(n.checkCounts, counts(k.Check))
	return i
}

// pattern is what a run came to, check by check and situation by situation, in their places. Places beyond its end are not judged.
type pattern struct{ checks, situations []grade }

// take takes verdicts into a pattern, over those that it has of the same checks.
func (n *numbering) take(p *pattern, all Verdicts) {
	for key, verdict := range all {
		i := n.place(key)
		if i >= len(p.checks) {
			p.checks = append(p.checks, make([]grade, i+1-len(p.checks))...)
		}
		p.checks[i] = grades[verdict]
	}
	p.situations = make([]grade, len(n.situations))
	for i, g := range p.checks {
		at := n.at[i]
		p.situations[at] = max(p.situations[at], g)
	}
}

// with returns the pattern of a board, whose own is given, with one of its faults.
func (n *numbering) with(board *pattern, f *Fault) *pattern {
	p := &pattern{checks: slices.Clone(board.checks)}
	n.take(p, f.Unmet)
	return p
}

// in returns what stands at a place.
func in(grades []grade, place int) grade {
	if place < len(grades) {
		return grades[place]
	}
	return notJudged
}

// overlap is how much of what is no pass in one of two patterns is so in both. A check that fails in the one
// and is open in the other counts half to both; so does one that fails in the run and was not judged
// with the fault, since it may speak for or against it. What was not judged in the run is not compared.
type overlap struct{ common, either float64 }

// half is what a check counts that fails in one pattern and is open in the other; unjudged what one counts that fails and was
// not judged with the fault.
const half, unjudged = 0.5, 0.5

// add counts what a run has in common with a fault, place by place.
func (o *overlap) add(run, with []grade, counts []float64) {
	for i, here := range run {
		there, one := in(with, i), counts[i]
		switch {
		case here == notJudged || here == passed && there == passed:
		case there == notJudged:
			if here == failed {
				o.either += unjudged * one
			}
		case here == there:
			o.common += one
			o.either += one
		default:
			o.either += one
			if here != passed && there != passed {
				o.common += half * one
			}
		}
	}
}

// share is common of either, from 0 to 1.
func (o *overlap) share() float64 {
	if o.either == 0 {
		return 0
	}
	return o.common / o.either
}

// speedIn finds the speed among the values of a variant.
var speedIn = regexp.MustCompile(`speed [^,]*`)

// alongSpeeds returns for each situation that is asked at several speeds its places at all of them.
func (n *numbering) alongSpeeds() (all [][]int) {
	places := map[situation][]int{}
	for s, at := range n.situations {
		if speed := speedIn.FindString(s.variant); speed != "" {
			s.variant = strings.Replace(s.variant, speed, "", 1)
			places[s] = append(places[s], at)
		}
	}
	for _, of := range places {
		if len(of) > 1 {
			all = append(all, of)
		}
	}
	return all
}

// mostSpeeds is the share of the situations in which the speeds have to agree.
const mostSpeeds = 2.0 / 3

// agreeAtAllSpeeds says whether what fails with the fault at each of several speeds fails in the run at each of
// them too, in most of the situations in which it fails at any. An error that grows or fades with the speed is another one than that.
func agreeAtAllSpeeds(run, with *pattern, speeds [][]int) bool {
	agree, of := 0, 0
	for _, places := range speeds {
		judged, fails, here := 0, 0, 0
		for _, at := range places {
			a, b := in(run.situations, at), in(with.situations, at)
			if a == notJudged || b == notJudged || a == open || b == open {
				continue
			}
			judged++
			if b == failed {
				fails++
			}
			if a == failed {
				here++
			}
		}
		if judged > 1 && fails == judged && here > 0 {
			of++
			if here == judged {
				agree++
			}
		}
	}
	return float64(agree) >= mostSpeeds*float64(of)
}
