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

// kind returns what kind of thing a check asks: whichever motor it asks and whichever number, and in whichever words the
// policy has it.
func kind(asked string) string {
	kind, _, _ := strings.Cut(asked, ":")
	return kind
}

// What a check came to, from 0 to 1, or that it was not judged. Of a group of checks it is that of the worst, or their mean.
const (
	notJudged = -1.0
	passed    = 0.0
	open      = 0.5
	failed    = 1.0
)

// of returns what a check with a verdict came to.
func of(verdict string) float64 {
	switch verdict {
	case record.Pass:
		return passed
	case record.Undecided:
		return open
	case record.Fail:
		return failed
	}
	return notJudged
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

// groups are checks taken together, those that are of one situation each.
type groups struct {
	places map[situation]int
	of     []int     // the group of each check
	counts []float64 // what each group counts
}

// put puts the next check into the group of a situation.
func (g *groups) put(s situation, counts float64) {
	at, ok := g.places[s]
	if !ok {
		at = len(g.places)
		g.places[s] = at
		g.counts = append(g.counts, counts)
	}
	g.of = append(g.of, at)
}

// worst returns what the worst check of each group came to.
func (g *groups) worst(checks []float64) []float64 {
	all := slices.Repeat([]float64{notJudged}, len(g.places))
	for i, came := range checks {
		all[g.of[i]] = max(all[g.of[i]], came)
	}
	return all
}

// means returns what the judged checks of each group came to, on the mean.
func (g *groups) means(checks []float64) []float64 {
	sums, judged := make([]float64, len(g.places)), make([]float64, len(g.places))
	for i, came := range checks {
		if came != notJudged {
			sums[g.of[i]] += came
			judged[g.of[i]]++
		}
	}
	for at := range sums {
		if judged[at] == 0 {
			sums[at] = notJudged
		} else {
			sums[at] /= judged[at]
		}
	}
	return sums
}

// numbering gives checks, and groups of them, their places in patterns.
type numbering struct {
	checks map[Key]int
	counts []float64         // what each check counts
	asked  map[string]string // what checks ask, by their names
	// Checks of one variant of a case; of one situation; of one kind in one case, in whichever variant; of one kind in one suite.
	variants, situations, inCase, inSuite groups
}

func newNumbering() *numbering {
	n := &numbering{checks: map[Key]int{}, asked: map[string]string{}}
	for _, g := range []*groups{&n.variants, &n.situations, &n.inCase, &n.inSuite} {
		g.places = map[situation]int{}
	}
	return n
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
	i, one := len(n.counts), counts(k.Check)
	n.checks[k] = i
	n.counts = append(n.counts, one)
	n.variants.put(situation{suite: k.Suite, name: k.Case, variant: k.Variant}, one)
	n.situations.put(situation{k.Suite, k.Case, k.Variant, asked}, one)
	n.inCase.put(situation{suite: k.Suite, name: k.Case, asks: kind(asked)}, one)
	n.inSuite.put(situation{suite: k.Suite, asks: kind(asked)}, one)
	return i
}

// take returns in their places what checks came to, over what they are given to have come to.
func (n *numbering) take(over []float64, all Verdicts) []float64 {
	checks := slices.Clone(over)
	for key, verdict := range all {
		i := n.place(key)
		for i >= len(checks) {
			checks = append(checks, notJudged)
		}
		checks[i] = of(verdict)
	}
	return checks
}

// where leaves what checks came to of those variants of cases alone of which something was judged in a run.
func (n *numbering) where(judged, checks []float64) []float64 {
	for i := range checks {
		if in(judged, n.variants.of[i]) == notJudged {
			checks[i] = notJudged
		}
	}
	return checks
}

// pattern is what a run came to, check by check and group by group, in their places. Places beyond its end are not judged.
type pattern struct{ checks, situations, inCase, inSuite []float64 }

// pattern groups what checks came to.
func (n *numbering) pattern(checks []float64) *pattern {
	return &pattern{checks, n.situations.worst(checks), n.inCase.means(checks), n.inSuite.means(checks)}
}

// in returns what stands at a place.
func in(all []float64, place int) float64 {
	if place < len(all) {
		return all[place]
	}
	return notJudged
}

// alike returns how much of what is no pass in a run or with a fault is so in both, from 0 to 1: the finer it is compared,
// the more it tells mistakes apart under one policy, and the coarser, the more of a mistake is known again under another.
func (n *numbering) alike(run, with *pattern) float64 {
	var fine, inCase, inSuite overlap
	fine.add(run.checks, with.checks, n.counts)
	fine.add(run.situations, with.situations, n.situations.counts)
	inCase.add(run.inCase, with.inCase, n.inCase.counts)
	inSuite.add(run.inSuite, with.inSuite, n.inSuite.counts)
	return (fine.share() + inCase.share() + inSuite.share()) / 3
}

// overlap is how much of what is no pass in one of two patterns is so in both. What was not judged in the run is not compared.
type overlap struct{ common, either float64 }

// unjudged is what one counts that fails in the run and was not judged with the fault, since it may speak for or against it.
const unjudged = 0.5

// add counts what a run has in common with a fault, place by place.
func (o *overlap) add(run, with, counts []float64) {
	for i, here := range run {
		switch there := in(with, i); {
		case here == notJudged:
		case there == notJudged:
			o.either += unjudged * here * counts[i]
		default:
			o.common += min(here, there) * counts[i]
			o.either += max(here, there) * counts[i]
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
	for s, at := range n.situations.places {
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
