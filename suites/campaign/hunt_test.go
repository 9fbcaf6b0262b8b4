package campaign

import (
	"context"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"hilrig/suites"
	"hilrig/suites/file"
	"hilrig/suites/record"
)

// The suite whose first case that asks for the key is shortest comes first, then the other suites that ask, and the
// shortest of those that do not; within a suite its cases that ask come first, in their order.
func TestWhatAsksForTheKeyOfAFaultIsPlayedFirst(t *testing.T) {
	setup, err := suites.Load(filesOf("built-in", standards(t, "limits", "losses", "replay", "split")...))
	require.NoError(t, err)
	for _, row := range []struct {
		key         string
		suite, then string // played first, and before what does not ask
		firstCase   string
	}{
		{"yaw_frozen", "losses", "replay", "yaw-rate sensor frozen"},
		{"reverse", "torque split", "losses", "no shift in reverse"},
	} {
		first := nearestFirst(setup, row.key)
		require.Len(t, first, 4)
		assert.Equal(t, row.suite, first[0].Name, row.key)
		place := map[string]int{}
		for i, s := range first {
			place[s.Name] = i
		}
		assert.Less(t, place[row.suite], place[row.then], row.key)

		ordered := askingFirst(first[0], row.key)
		assert.Equal(t, row.firstCase, ordered.Cases[0].Name, row.key)
		assert.ElementsMatch(t, titlesOf(first[0]), titlesOf(ordered), "all cases are played")
	}
}

func titlesOf(s *file.Suite) (all []string) {
	for i := range s.Cases {
		all = append(all, s.Cases[i].Name+" "+s.Cases[i].Variant)
	}
	return all
}

// What comes behind the case that finds a fault is not played.
func TestAHuntEndsWithTheCaseThatFindsTheFault(t *testing.T) {
	h := &hunt{files: filesOf("built-in:frozen_believed", standards(t, "losses")...), fault: Fault{Seeded: Seeded{Name: "frozen_believed", Key: "yaw_frozen"}}}
	setup, err := suites.Load(h.files)
	require.NoError(t, err)
	v := &campaign{boards: 1}
	require.NoError(t, v.hunt(context.Background(), h))
	assert.Equal(t, Found, h.fault.Verdict)
	assert.Equal(t, "yaw-rate sensor frozen", h.fault.Case)
	assert.Less(t, v.driving, setup.SuiteLength(setup.Suites[0])/5)
}

// A check that fails without the fault too finds nothing, and of several cases the first alone counts.
func TestACaseFindsAFaultByWhatFailsWithItAlone(t *testing.T) {
	of := func(names ...string) *record.Case {
		c := &record.Case{Name: "hold", Variant: "left"}
		for _, name := range names {
			c.Checks = append(c.Checks, record.Check{Name: name, Verdict: record.Fail}, record.Check{Name: "another", Verdict: record.Pass})
		}
		return c
	}
	h := &hunt{known: map[site]bool{{"split.yaml", "split", "hold", "left", "a", 0}: true}, fault: Fault{Why: "died"}}
	assert.False(t, h.look("split.yaml", "split", of("a")))
	assert.Equal(t, Fault{Why: "died"}, h.fault)
	assert.True(t, h.look("split.yaml", "split", of("a", "b", "c")))
	assert.Equal(t, Fault{Checks: 2, Suite: "split", Case: "hold", Variant: "left", Check: "b"}, h.fault)
	assert.True(t, h.look("split.yaml", "split", of("d")))
	assert.Equal(t, 2, h.fault.Checks)
}
