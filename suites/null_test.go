package suites_test

import (
	"fmt"
	"slices"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"

	"hilrig/rig/board"
	"hilrig/suites"
	"hilrig/suites/record"
)

// passesOnNull lists the checks that boards pass which control nothing, all
// four of them, each with the reason why it may.
var passesOnNull = map[string]string{}

// TestBoardsThatControlNothingFail plays every suite to boards that do: each
// has to fail each suite but timing, for one that takes the throttle over to
// all four motors may well be quick. A check that passes on all four tests
// nothing, unless there is a reason.
//
// Timing is left out unless there is time, and most where there is little.
func TestBoardsThatControlNothingFail(t *testing.T) {
	names := nullSuites
	if testing.Short() {
		names = []string{"split"}
	}
	passes := map[string]int{}
	var table strings.Builder
	for _, kind := range board.Kinds {
		r, _ := play(t, load(t, bramble("null:"+string(kind), names...)), suites.Options{})
		fmt.Fprintf(&table, "\n%-16s", kind)
		for _, s := range r.Suites {
			fmt.Fprintf(&table, "  %s %d of %d", s.Name, s.Counts.Fail, s.Counts.Fail+s.Counts.Pass+s.Counts.Undecided)
			if s.Name != "timing" {
				assert.NotZero(t, s.Counts.Fail, "%s on %s", s.Name, kind)
			}
			for _, name := range allPassed(&s) {
				passes[name]++
			}
		}
	}
	t.Logf("checks failed:%s", table.String())
	for name, n := range passes {
		if n == len(board.Kinds) {
			assert.Contains(t, passesOnNull, name, "it passes on every board that controls nothing")
		}
	}
	for name := range passesOnNull {
		assert.Equal(t, len(board.Kinds), passes[name], "%s: fails on some; take it from the list", name)
	}
}

// allPassed lists the checks of a suite that passed in all variants of their
// case, each as suite, case and check.
func allPassed(s *record.Suite) []string {
	var passed, not []string
	for _, c := range s.Cases {
		for _, k := range c.Checks {
			name := s.Name + ", " + c.Name + ": " + k.Name + " in " + k.Step
			if k.Verdict == record.Pass {
				passed = append(passed, name)
			} else {
				not = append(not, name)
			}
		}
	}
	slices.Sort(passed)
	return slices.DeleteFunc(slices.Compact(passed), func(name string) bool { return slices.Contains(not, name) })
}
