package suites

import (
	"maps"
	"slices"

	"hilrig/assertions"
	"hilrig/rig"
	"hilrig/suites/file"
	"hilrig/suites/language"
	"hilrig/suites/record"
)

// Plan returns the result of a run in which nothing has been played yet, in
// plan order.
func (s *Setup) Plan() *record.Result {
	r := &record.Result{
		Format: record.Format,
		Seed:   s.Seed,
		Car:    source(s.Car.Name, s.Car.Source),
		Bench:  source(s.Bench.Name, s.Bench.Source),
		Board:  record.Source{Name: s.Board},
		Delay:  rig.Delay,

		Substituted: s.Bench.Substituted,
		Part:        s.part(),
		Typed:       s.typedPaths(),
	}
	if s.real != nil {
		r.Real = s.real.Kind
	}
	for _, g := range s.Car.Guessed {
		r.Guessed = append(r.Guessed, record.Note{Key: g.Key, Text: g.Value + ", guessed from " + g.From})
	}
	for _, suite := range s.Suites {
		out := record.Suite{Name: suite.Name, About: suite.About, File: nameOf(&suite.Source), Cases: make([]record.Case, len(suite.Cases))}
		for i := range suite.Cases {
			c := &suite.Cases[i]
			out.Cases[i] = record.Case{Name: c.Name, Variant: c.Variant, Line: c.Place.Line, Verdict: record.NotRun, Checks: []record.Check{}}
		}
		r.Suites = append(r.Suites, out)
	}
	s.noteNotAsked(r)
	return r
}

// judge holds every expectation of a case against its evidence. ranTogether says that one was
// left open for answers had not ended when the next trial came.
func judge(suite *file.Suite, c *file.Case, e *assertions.Evidence, out *record.Case) (ranTogether bool) {
	for i := range c.Expect {
		x := &c.Expect[i]
		if x.NotAsked != "" {
			out.Checks = append(out.Checks, check(suite, x, &assertions.Result{Name: x.Title(), Verdict: assertions.NotAsked, Why: x.NotAsked}))
			continue
		}
		results := assertions.Judge(x.Check, e)
		for j := range results {
			out.Checks = append(out.Checks, check(suite, x, &results[j]))
			ranTogether = ranTogether || results[j].RanTogether
		}
	}
	judgeThroughout(suite, c, e, out)
	out.Verdict = record.Worst(out.Checks)
	return ranTogether
}

// judgeThroughout adds what is asked of every case. Where nothing else is, it is left out if
// nothing is wrong, but for what the policy says of every command.
func judgeThroughout(suite *file.Suite, c *file.Case, e *assertions.Evidence, out *record.Case) {
	asked := slices.ContainsFunc(out.Checks, func(k record.Check) bool { return k.Verdict != record.NotAsked })
	x := &file.Expectation{Place: c.Place, LastLine: c.Place.Line}
	for _, r := range assertions.Throughout(e) {
		if r.Name == assertions.LongestGap && r.Verdict == assertions.Fail {
			r.Keys = []string{gapKey}
		}
		// What is asked of every command is the policy's own word, and counts whatever comes of it.
		if asked || r.Verdict != assertions.NotAsked && (r.Verdict != assertions.Pass || r.Name == assertions.EveryCommand) {
			out.Checks = append(out.Checks, check(suite, x, &r))
		}
	}
}

// check turns one result to its form in the record.
func check(suite *file.Suite, x *file.Expectation, r *assertions.Result) record.Check {
	c := record.Check{
		Name: r.Name, Verdict: string(r.Verdict), Step: r.Step,
		AtNS: int64(r.At), Why: r.Why, Keys: r.Keys, LeftOut: r.LeftOut,
		File: nameOf(&suite.Source), Line: x.Place.Line,
	}
	if r.Verdict == assertions.NotAsked {
		return c
	}
	if m, ok := r.Measurement(); ok {
		c.Quantity, c.Unit = m.Quantity, m.Unit
		c.Estimate, c.Low, c.High = record.Number(m.Estimate), record.Number(m.Low), record.Number(m.High)
		c.LimitLow, c.LimitHigh = record.Number(m.Limit.Low), record.Number(m.Limit.High)
		c.Samples = record.Samples(r.Samples)
		if m.Budget.Known {
			c.Statistics, c.Instrument = record.Number(m.Budget.Statistics), record.Number(m.Budget.Instrument)
		}
	}
	if r.Verdict != assertions.Pass {
		c.Excerpt = suite.Source.Excerpt(x.Place.Line, x.LastLine)
	}
	return c
}

// noteNotAsked lists the keys by which a policy could ask something and this one does not: those
// that the car file leaves out, those that it has and no check asks about, and of others that it has the parts that none can ask.
func (s *Setup) noteNotAsked(r *record.Result) {
	for _, k := range file.PolicyAsks() {
		switch has := slices.Contains(s.Car.Asked, k); {
		case has && !judged(k):
			r.NotAsked = append(r.NotAsked, record.Note{Key: k, Text: "the policy has it, and no check asks about it"})
		case !has && judged(k) && !s.saysParts(k):
			r.NotAsked = append(r.NotAsked, record.Note{Key: k, Text: "the policy leaves it out"})
		}
	}
	for _, x := range assertions.PartsNotAsked(&s.Car.Policy) {
		r.NotAsked = append(r.NotAsked, record.Note{Key: x.Key, Part: x.Of, Text: x.Why})
	}
}

// saysParts tells whether the policy has both keys that a general one stands for.
func (s *Setup) saysParts(key string) bool {
	return key == "at_the_limit" && s.Car.Policy.AtTheCap != 0 && s.Car.Policy.AtTheFloor != 0
}

// gapKey is the key of a policy that is asked about in every case.
const gapKey = "longest_gap"

// judged tells whether a check asks about what a policy says at a key.
func judged(key string) bool {
	return key == gapKey || slices.ContainsFunc(assertions.Situations, func(s string) bool { return slices.Contains(assertions.KeysOf(s), key) })
}

// noteAsked says what the outcome rests on. It counts the policy's keys that ask something, and those of them that checks of the
// run asked about.
func (s *Setup) noteAsked(r *record.Result) {
	for i, suite := range s.Suites {
		for j := range suite.Cases {
			if suite.Cases[j].Compares() && len(r.Suites[i].Cases[j].Checks) > 0 {
				r.Rests = "the model of the car with the tyres that its file declares"
			}
		}
	}
	all := s.keysAsked(r)
	for _, key := range slices.Sorted(maps.Keys(all)) {
		r.KeysDeclared++
		if all[key] {
			r.KeysAsked++
			if r.Part != nil {
				r.Part.Asked = append(r.Part.Asked, key)
			}
		}
	}
}

// keysAsked holds each of the policy's keys that ask something, and whether checks of the run asked about it.
func (s *Setup) keysAsked(r *record.Result) map[string]bool {
	asked := map[string]bool{}
	for _, k := range file.PolicyAsks() {
		if slices.Contains(s.Car.Asked, k) {
			asked[k] = false
		}
	}
	for i, suite := range s.Suites {
		for j := range suite.Cases {
			for _, k := range s.askedIn(&suite.Cases[j], &r.Suites[i].Cases[j]) {
				if _, declared := asked[k]; declared {
					asked[k] = true
				}
			}
		}
	}
	return asked
}

// askedIn lists the keys of the policy that checks of a case asked about.
func (s *Setup) askedIn(c *file.Case, out *record.Case) (keys []string) {
	for i := range c.Expect {
		x := &c.Expect[i]
		branch, ok := x.Check.(assertions.PolicyBranch)
		if !ok {
			continue
		}
		var planned []assertions.Planned
		for k := range out.Checks {
			check := &out.Checks[k]
			if check.Line != x.Place.Line || check.Verdict == record.NotAsked {
				continue
			}
			if planned == nil {
				planned = c.Planned(i, s.Car, s.Bench)
			}
			one := assertions.Planned{} // by a curve that was measured more may have been asked than was planned without
			if at := slices.IndexFunc(planned, func(p assertions.Planned) bool { return p.Name == check.Name }); at >= 0 {
				one = planned[at]
			}
			keys = append(keys, one.Keys(branch.Of, &s.Car.Policy)...)
		}
	}
	if slices.ContainsFunc(out.Checks, func(k record.Check) bool { return k.Name == assertions.LongestGap }) {
		keys = append(keys, gapKey)
	}
	return keys
}

func source(name string, s language.Source) record.Source {
	return record.Source{Name: name, File: nameOf(&s), Digest: s.Digest()}
}
