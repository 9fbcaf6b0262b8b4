package compare

import (
	"bytes"
	"fmt"
	"path"
	"slices"
	"strings"

	"hilrig/suites/record"
	"hilrig/suites/report"
)

// pair is one check in both records; a or b is nil where it is in one alone.
type pair struct {
	suite, title string
	at           Place // of the case in the first record; in the second where the first has it not
	a, b         *record.Check
	was, is      string // verdicts; "not played" where the case was not, "" where the check is not there

	kind    Kind
	counts  float64  // the difference from which on one counts; 0: none is known
	by      float64  // after less before
	apart   *float64 // see readingsApart; nil: not worked out yet
	why     string
	follows string
}

// notPlayed stands for the verdict of a check whose case was not played.
const notPlayed = "not played"

// caseOfBoth is a case that both records played.
type caseOfBoth struct {
	suite, title string
	a, b         Place
}

// key is what a check is matched by within its case.
type key struct {
	name, step string
	nth        int
}

// match puts together what both records have and says what cannot be compared.
func (c *comparer) match() {
	a, b := c.a.Record.Result, c.b.Record.Result
	for _, of := range []struct {
		what          string
		before, after record.Source
	}{{"car", a.Car, b.Car}, {"bench", a.Bench, b.Bench}} {
		if of.before.Digest != of.after.Digest {
			c.changed("the %s changed: %s (%.12s) before, %s (%.12s) after", of.what, of.before.Name, of.before.Digest, of.after.Name, of.after.Digest)
		}
	}
	if a.Delay != b.Delay {
		c.changed("the loop's delay changed: %s before, %s after", a.Delay, b.Delay)
	}
	if len(c.out.Changed) > 0 {
		return // every limit and every stimulus rests on them
	}
	for i := range a.Suites {
		s := &a.Suites[i]
		j := suiteNamed(b, s.Name)
		switch {
		case j < 0:
			c.matchSuite(s, i, nil, -1)
		case !c.sameFiles(s, &b.Suites[j]):
		default:
			c.matchSuite(s, i, &b.Suites[j], j)
		}
	}
	for j := range b.Suites {
		if suiteNamed(a, b.Suites[j].Name) < 0 {
			c.matchSuite(nil, -1, &b.Suites[j], j)
		}
	}
}

func (c *comparer) changed(format string, args ...any) {
	c.out.Changed = append(c.out.Changed, fmt.Sprintf(format, args...))
}

// suiteNamed returns the place of the suite of that name, -1 where there is none.
func suiteNamed(r *record.Result, name string) int {
	for i := range r.Suites {
		if r.Suites[i].Name == name {
			return i
		}
	}
	return -1
}

// suiteFile returns what a record keeps of the file of a suite of its; nil where it keeps none. Suites are kept in the order of
// the plan.
func suiteFile(r *Run, of *record.Suite) []byte {
	n := slices.IndexFunc(r.Record.Result.Suites, func(s record.Suite) bool { return s.File == of.File && s.Name == of.Name })
	for i := range r.Inputs {
		if in := &r.Inputs[i]; in.Role == record.SuiteInput {
			if n == 0 {
				return in.Data
			}
			n--
		}
	}
	return nil
}

// logAt returns what a record keeps of a drive log, wherever that lay; nil where it keeps none.
func logAt(r *Run, at string) []byte {
	for i := range r.Inputs {
		if in := &r.Inputs[i]; in.Role == record.LogInput && path.Base(in.Path) == path.Base(at) {
			return in.Data
		}
	}
	return nil
}

// sameFiles says whether a suite was made of the same files in both records: its own, and the
// drive logs that it names. It notes what is not.
func (c *comparer) sameFiles(a, b *record.Suite) bool {
	before, after := suiteFile(c.a, a), suiteFile(c.b, b)
	if before == nil || after == nil {
		c.changed("suite %q: its file %s is not kept in both records", a.Name, a.File)
		return false
	}
	if !bytes.Equal(before, after) {
		c.changed("suite %q changed: its file %s is not the same", a.Name, b.File)
		return false
	}
	for i := range c.a.Inputs {
		in := &c.a.Inputs[i]
		if in.Role == record.LogInput && bytes.Contains(before, []byte(path.Base(in.Path))) && !bytes.Equal(in.Data, logAt(c.b, in.Path)) {
			c.changed("suite %q changed: its drive log %s is not the same", a.Name, in.Path)
			return false
		}
	}
	return true
}

// matchSuite matches the cases of a suite by their titles; a or b is nil where it is in one
// record alone.
func (c *comparer) matchSuite(a *record.Suite, i int, b *record.Suite, j int) {
	known := map[string]int{}
	if b != nil {
		for n := range b.Cases {
			known[b.Cases[n].Title()] = n
		}
	}
	if a != nil {
		for n := range a.Cases {
			title := a.Cases[n].Title()
			m, ok := known[title]
			delete(known, title)
			if !ok {
				c.matchCase(a.Name, Place{i, n}, &a.Cases[n], nil)
				continue
			}
			c.matchCase(a.Name, Place{i, n}, &a.Cases[n], &b.Cases[m])
			c.cases = append(c.cases, caseOfBoth{a.Name, title, Place{i, n}, Place{j, m}})
		}
	}
	if b != nil {
		for n := range b.Cases {
			if _, left := known[b.Cases[n].Title()]; left {
				c.matchCase(b.Name, Place{j, n}, nil, &b.Cases[n])
			}
		}
	}
}

// matchCase matches the checks of a case by name, step and occurrence. A check that names the step
// in which it found the worst, which may be another the next time, is matched by its name alone.
func (c *comparer) matchCase(suite string, at Place, a, b *record.Case) {
	before, after := keyed(a), keyed(b)
	title := ""
	add := func(x, y *record.Check) {
		c.pairs = append(c.pairs, pair{suite: suite, title: title, at: at, a: x, b: y, was: verdictOf(a, x), is: verdictOf(b, y)})
	}
	var left []*record.Check // of b, that no check of a is by its step
	if b != nil {
		title = b.Title()
		for _, k := range keysOf(b) {
			if before[k] == nil {
				left = append(left, after[k])
			}
		}
	}
	if a != nil {
		title = a.Title()
		for _, k := range keysOf(a) {
			y := after[k]
			if i := slices.IndexFunc(left, func(y *record.Check) bool { return y.Name == k.name }); y == nil && i >= 0 {
				y = left[i]
				left = slices.Delete(left, i, i+1)
			}
			add(before[k], y)
		}
	}
	for _, y := range left {
		add(nil, y)
	}
}

// keysOf returns the keys of a case's checks in their order.
func keysOf(k *record.Case) (keys []key) {
	seen := map[key]int{}
	for i := range k.Checks {
		x := key{name: k.Checks[i].Name, step: k.Checks[i].Step}
		seen[x]++
		keys = append(keys, key{x.name, x.step, seen[x]})
	}
	return keys
}

func keyed(k *record.Case) map[key]*record.Check {
	if k == nil {
		return nil
	}
	checks := map[key]*record.Check{}
	for i, x := range keysOf(k) {
		checks[x] = &k.Checks[i]
	}
	return checks
}

// verdictOf returns a check's verdict; what stands for it where there is none.
func verdictOf(k *record.Case, x *record.Check) string {
	switch {
	case x != nil:
		return x.Verdict
	case k == nil || k.Verdict == record.NotRun || k.Verdict == record.Skipped:
		return notPlayed
	}
	return ""
}

// judged says whether a verdict says anything of the board.
func judged(verdict string) bool { return verdict == record.Pass || verdict == record.Fail }

// both says whether both records measured the check, in one unit.
func (p *pair) both() bool {
	return p.a != nil && p.b != nil && p.a.Measured() && p.b.Measured() && p.a.Unit == p.b.Unit
}

// measured counts the comparisons of numbers: one for each pair, and two for one of single readings.
func (c *comparer) measured() (n int) {
	for i := range c.pairs {
		if c.pairs[i].both() {
			n++
		}
		if c.pairs[i].sampled() {
			n++
		}
	}
	return n
}

// change returns the pair as one that is not the same.
func (p *pair) change() Change {
	x := Change{
		Kind: p.kind, Suite: p.suite, Case: p.title,
		VerdictBefore: p.was, VerdictAfter: p.is, Why: p.why, Follows: p.follows, Checks: [2]*record.Check{p.a, p.b},
	}
	for _, k := range []*record.Check{p.a, p.b} {
		if k != nil {
			x.Check, x.Step, x.Unit = k.Name, k.Step, k.Unit
		}
	}
	x.Before, x.RoomBefore = numbers(p.a)
	x.After, x.RoomAfter = numbers(p.b)
	if p.both() {
		x.Counts = record.Number(p.counts)
	}
	if x.Why == "" && p.b != nil && p.kind != Better && p.kind != PassesNow {
		x.Why = p.b.Why
	}
	return x
}

// placesOf returns the places of a pair's case in both plans.
func (c *comparer) placesOf(p *pair) [2]Place {
	i := slices.IndexFunc(c.cases, func(k caseOfBoth) bool { return k.suite == p.suite && k.title == p.title })
	if i < 0 {
		return [2]Place{{-1, -1}, {-1, -1}}
	}
	return [2]Place{c.cases[i].a, c.cases[i].b}
}

// numbers returns a check's estimate and the room from its interval to its limit.
func numbers(k *record.Check) (estimate, room *float64) {
	if k == nil || !k.Measured() {
		return nil, nil
	}
	if left, _, ok := report.Room(k); ok {
		room = record.Number(left)
	}
	return k.Estimate, room
}

// about says what a check is about: what stands before the colon of its name.
func about(name string) string {
	what, _, _ := strings.Cut(name, ":")
	return what
}
