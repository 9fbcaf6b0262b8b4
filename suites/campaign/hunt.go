package campaign

import (
	"cmp"
	"slices"

	"hilrig/assertions"
	"hilrig/rig/signal"
	"hilrig/suites"
	"hilrig/suites/file"
)

// playing returns the suites that are played to a board with a fault, each as one run of its own, in such an order that
// what is likely to find the fault and costs little comes first: of each suite the cases that ask for its policy key, the shortest
// first; then what these suites have besides; and last once more as a whole each suite that was divided so, for a
// fault may show only after what the other cases drove. A fault that nothing may find is played to whole
// suites alone, and one that need not be found to none that is for any policy.
func playing(setup *suites.Setup, fault *Seeded) []*file.Suite {
	if fault.Harmless != "" || fault.Unasked != "" {
		whole := slices.Clone(setup.Suites)
		if fault.Unasked != "" {
			whole = slices.DeleteFunc(whole, func(s *file.Suite) bool { return s.AnyPolicy })
		}
		return whole
	}
	var first, then, last []*file.Suite
	for _, suite := range nearestFirst(setup, fault.Key) {
		asking, others := divided(setup, suite, fault.Key)
		switch {
		case len(asking.Cases) == 0:
			then = append(then, suite)
		case len(others.Cases) == 0:
			first = append(first, asking)
		default:
			first, then, last = append(first, asking), append(then, others), append(last, suite)
		}
	}
	return slices.Concat(first, then, last)
}

// nearestFirst returns the suites of a setup in an order in which those come first that ask for a key of the policy, and
// of those the one whose cases that do are shortest together; of the others the shortest suite.
func nearestFirst(setup *suites.Setup, key string) []*file.Suite {
	type ranked struct {
		suite  *file.Suite
		far    int
		length signal.Time
	}
	var all []ranked
	for _, s := range setup.Suites {
		if asking, _ := divided(setup, s, key); len(asking.Cases) > 0 {
			all = append(all, ranked{s, 0, setup.SuiteLength(asking)})
		} else {
			all = append(all, ranked{s, 1, setup.SuiteLength(s)})
		}
	}
	slices.SortStableFunc(all, func(a, b ranked) int { return cmp.Or(cmp.Compare(a.far, b.far), cmp.Compare(a.length, b.length)) })
	first := make([]*file.Suite, len(all))
	for i := range all {
		first[i] = all[i].suite
	}
	return first
}

// divided returns a suite with its cases alone that ask for a key of the policy, the shortest first, and with the others alone.
func divided(setup *suites.Setup, s *file.Suite, key string) (asking, others *file.Suite) {
	with, without := *s, *s
	with.Cases, without.Cases = nil, nil
	for i := range s.Cases {
		if asksFor(&s.Cases[i], key) {
			with.Cases = append(with.Cases, s.Cases[i])
		} else {
			without.Cases = append(without.Cases, s.Cases[i])
		}
	}
	slices.SortStableFunc(with.Cases, func(a, b file.Case) int { return cmp.Compare(setup.Length(s, &a), setup.Length(s, &b)) })
	return &with, &without
}

// asksFor says whether a case expects something for which a key of the policy counts.
func asksFor(c *file.Case, key string) bool {
	return slices.ContainsFunc(c.Expect, func(x file.Expectation) bool {
		branch, ok := x.Check.(assertions.PolicyBranch)
		return ok && x.NotAsked == "" && slices.Contains(assertions.KeysOf(branch.Of), key)
	})
}
