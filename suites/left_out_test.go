package suites_test

import (
	"math/rand/v2"
	"regexp"
	"slices"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"

	"hilrig/rig/board"
	"hilrig/suites"
	"hilrig/suites/demo"
	"hilrig/suites/language"
	"hilrig/suites/record"
)

// declaredPolicies are policies of healthy boards, as a car file has them, with the board of each.
var declaredPolicies = []struct {
	name, policy string
	board        func(s *board.Settings)
}{
	{"demo", policyOf(string(demo.CarYAML)), func(*board.Settings) {}},
}

// policyOf returns the policy of a car file, from its key to the end.
func policyOf(car string) string { return car[strings.Index(car, "\npolicy:\n")+1:] }

// topKey is a key of a policy with what stands under it.
var topKey = regexp.MustCompile(`(?m)^  ([a-z_]+):.*\n(?:    .*\n)*`)

// goesWith are keys that have no meaning without another.
var goesWith = map[string][]string{"cap": {"at_the_cap"}, "floor": {"at_the_floor"}, "opposite_lock": {"opposite_lock_share"}}

// keysOf lists the keys of a policy.
func keysOf(policy string) (keys []string) {
	for _, m := range topKey.FindAllStringSubmatch(policy, -1) {
		if m[1] != "opposite_lock_share" { // it is half of opposite_lock
			keys = append(keys, m[1])
		}
	}
	return keys
}

// leavingOut returns a policy without some of its keys and without what has no meaning then.
func leavingOut(policy string, keys ...string) string {
	for _, k := range keys {
		keys = append(keys, goesWith[k]...)
	}
	return topKey.ReplaceAllStringFunc(policy, func(text string) string {
		if slices.Contains(keys, topKey.FindStringSubmatch(text)[1]) {
			return ""
		}
		return text
	})
}

func TestLeavingOutTakesWholeKeys(t *testing.T) {
	policy := policyOf(string(demo.CarYAML))
	assert.Len(t, keysOf(policy), 29)
	without := leavingOut(policy, "demand", "resolution")
	assert.True(t, strings.HasPrefix(without, "policy:\n  turn_from:"))
	assert.Len(t, keysOf(without), 27)
	assert.Equal(t, policy, leavingOut(policy))
}

// TestWhatAPolicyLeavesOutIsNotAsked plays the standard suites to healthy boards that keep a
// whole policy, of which the car file leaves keys out, one and two at a time: no check fails and
// none is left undecided for it. Which keys are drawn is printed; with the tag full all are.
func TestWhatAPolicyLeavesOutIsNotAsked(t *testing.T) {
	if testing.Short() {
		t.Skip("plays many minutes of driving")
	}
	for _, p := range declaredPolicies {
		t.Run(p.name, func(t *testing.T) {
			for _, keys := range drawnKeys(keysOf(p.policy)) {
				t.Run("without "+strings.Join(keys, " and "), func(t *testing.T) {
					f := bramble("")
					text := string(demo.CarYAML)
					f.Car = language.Source{Path: "car.yaml", Data: []byte(strings.Replace(text, policyOf(text), leavingOut(p.policy, keys...), 1))}
					s := load(t, f)
					settings := board.Bramble()
					p.board(&settings)
					s.WithBoard(p.name, settings)
					r, _ := play(t, s, suites.Options{})
					assert.Empty(t, strings.Join(troubles(r), "\n"))
					assert.Equal(t, record.Go, r.Outcome)
				})
			}
		})
	}
}

// drawnKeys returns what is left out of a policy with these keys: nothing, single keys, and
// pairs of them.
func drawnKeys(keys []string) [][]string {
	all := [][]string{nil}
	order := rand.Perm(len(keys))
	if leftOutKeys > 0 {
		order = order[:leftOutKeys]
	}
	for _, i := range order {
		all = append(all, []string{keys[i]})
	}
	for range leftOutPairs {
		pair := rand.Perm(len(keys))
		all = append(all, []string{keys[pair[0]], keys[pair[1]]})
	}
	return all
}
