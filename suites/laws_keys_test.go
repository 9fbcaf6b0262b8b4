package suites_test

import (
	"cmp"
	"fmt"
	"maps"
	"math"
	"regexp"
	"slices"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"

	"hilrig/assertions"
	"hilrig/suites"
	"hilrig/suites/file"
	"hilrig/suites/standard"
)

// plannedKeys holds each key of the policy that asks something, and whether the standard suites will ask it whatever
// the board does; and why its own situation is not asked, once for each case.
func plannedKeys(s *suites.Setup) (asked map[string]bool, why map[string][]string) {
	asked, why = map[string]bool{}, map[string][]string{}
	for _, k := range file.PolicyAsks() {
		if slices.Contains(s.Car.Asked, k) {
			asked[k] = false
		}
	}
	ask := func(key string) {
		if _, declared := asked[key]; declared {
			asked[key] = true
		}
	}
	for _, suite := range s.Suites {
		for i := range suite.Cases {
			c := &suite.Cases[i]
			for k := range c.Expect {
				check, _ := c.Expect[k].Check.(assertions.PolicyBranch)
				planned := c.Planned(k, s.Car, s.Bench)
				if !slices.ContainsFunc(planned, func(p assertions.Planned) bool { return p.Asked }) {
					if len(planned) > 0 {
						why[check.Of] = append(why[check.Of], planned[0].Why)
					} else {
						why[check.Of] = append(why[check.Of], c.Expect[k].NotAsked)
					}
					continue
				}
				for i := range planned {
					if planned[i].Asked {
						for _, key := range planned[i].Keys(check.Of, &s.Car.Policy) {
							ask(key)
						}
					}
				}
				if !c.PowerUp {
					ask("longest_gap")
				}
			}
		}
	}
	return asked, why
}

// seldomAsked are the keys that are asked in fewer than half of the laws that declare them, or in so few more that of a few drawn
// laws it may be fewer, each with the reason.
var seldomAsked = map[string]string{}

// keyCount is in how many laws a key was declared, in how many asked, and in which not.
type keyCount struct {
	declared, asked int
	notIn           []uint64
	why             map[string]int // it was not, and in how many cases
}

// keyCounts are those of all keys.
type keyCounts map[string]*keyCount

// note takes in which keys of a law were asked, and returns what share of them.
func (c keyCounts) note(law uint64, asked map[string]bool, why map[string][]string) float64 {
	n := 0
	for key, is := range asked {
		k := c[key]
		if k == nil {
			k = &keyCount{why: map[string]int{}}
			c[key] = k
		}
		k.declared++
		if is {
			k.asked++
			n++
		} else {
			k.notIn = append(k.notIn, law)
			for _, w := range why[key] {
				k.why[inWords(w)]++
			}
		}
	}
	return float64(n) / float64(len(asked))
}

// digits are those of numbers in the words of a reason.
var digits = regexp.MustCompile(`-?[0-9]+(\.[0-9]+)?`)

// inWords leaves the numbers out of a reason.
func inWords(why string) string { return digits.ReplaceAllString(why, "#") }

// reason returns why the key is not asked, by most cases.
func (k *keyCount) reason() string {
	most := ""
	for _, why := range slices.Sorted(maps.Keys(k.why)) {
		if k.why[why] > k.why[most] {
			most = why
		}
	}
	return most
}

// seldom says whether a key was asked in fewer than half of the laws that declare it.
func (k *keyCount) seldom() bool { return 2*k.asked < k.declared }

// String is a table, the key that is asked least first.
func (c keyCounts) String() string {
	var w strings.Builder
	share := func(key string) float64 { return float64(c[key].asked) / float64(c[key].declared) }
	for _, key := range slices.SortedFunc(maps.Keys(c), func(a, b string) int { return cmp.Or(cmp.Compare(share(a), share(b)), cmp.Compare(a, b)) }) {
		k := c[key]
		fmt.Fprintf(&w, "%-20s asked in %3d of %3d laws", key, k.asked, k.declared)
		if len(k.notIn) > 0 {
			fmt.Fprintf(&w, ", not in %v", k.notIn[:min(len(k.notIn), 10)])
		}
		if reason := k.reason(); reason != "" {
			fmt.Fprintf(&w, ": %s", reason)
		}
		w.WriteString("\n")
	}
	return w.String()
}

// shortOfKeys is the share of drawn laws of whose keys fewer than nine in ten may be asked: two declare neither understeer nor oversteer, so that
// nothing says which motors move; one no size of the shift and no cap, with steps of the gain and a dead band that only a size would show; and one a
// traction control that may cut a motor at standstill and in most turns, with no demand near enough for its loop rate.
const shortOfKeys = 0.02

// TestTheKeysOfADrawnLawAreAsked holds the standard suites to asking at least nine in ten of the keys of most drawn
// laws, and each key in at least half of the laws that declare it, or there is a reason why not. The laws are not played.
func TestTheKeysOfADrawnLawAreAsked(t *testing.T) {
	counts, short := keyCounts{}, 0
	for n := range uint64(keysPlanned) {
		d := drawLaw(n + 1)
		f := bramble("from-policy", append([]string{standard.Life}, standard.Names()...)...) // as every run has them
		f.Car, f.Bench = d.car, d.bench
		asked, why := plannedKeys(load(t, f))
		share := counts.note(n+1, asked, why)
		if share < 0.9 {
			var not []string
			for key, is := range asked {
				if !is {
					not = append(not, key)
				}
			}
			slices.Sort(not)
			t.Logf("law %d: not %v of %d keys", n+1, not, len(asked))
			short++
		}
	}
	for key, k := range counts {
		if seldomAsked[key] == "" {
			assert.False(t, k.seldom(), "%s is asked in %d of %d laws", key, k.asked, k.declared)
		}
	}
	if k := counts["response"]; k != nil {
		assert.Equal(t, k.declared, k.asked, "how soon the motors follow the throttle is asked by any policy")
	}
	t.Logf("\n%sof %d laws, %d have fewer than nine in ten of their keys asked", counts, keysPlanned, short)
	// Of all there are so many; of a few that stand for them chance gives as many more as their number's spread.
	most := shortOfKeys * float64(keysPlanned)
	if keysPlanned < 200 {
		most += math.Sqrt(most * (1 - shortOfKeys))
	}
	assert.LessOrEqual(t, float64(short), most)
}
