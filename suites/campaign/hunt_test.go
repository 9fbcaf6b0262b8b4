package campaign

import (
	"context"
	"fmt"
	"slices"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"hilrig/suites"
	"hilrig/suites/file"
	"hilrig/suites/language"
	"hilrig/suites/parts"
	"hilrig/suites/record"
)

// The suite whose cases that ask for the key are shortest comes first, with these alone and the shortest of them in front. Then
// come the other suites that ask, then what does not ask, and last as a whole what was divided.
func TestWhatAsksForTheKeyOfAFaultIsPlayedFirst(t *testing.T) {
	setup, err := suites.Load(filesOf("built-in", standards(t, "limits", "losses", "replay", "split")...))
	require.NoError(t, err)
	for _, row := range []struct {
		key    string
		suites []string // as they are played
		first  string   // case of the first
	}{
		{"yaw_frozen", []string{"losses", "replay", "torque split", "limits", "losses", "losses"}, "yaw-rate sensor frozen"},
		{"reverse", []string{"torque split", "replay", "losses", "torque split", "limits", "torque split"}, "no shift in reverse"},
	} {
		all := playing(setup, &Seeded{Key: row.key})
		var names []string
		for _, s := range all {
			names = append(names, s.Name)
		}
		require.ElementsMatch(t, row.suites, names, row.key)
		assert.Equal(t, row.suites[0], names[0], row.key)
		assert.Equal(t, row.first, all[0].Cases[0].Name, row.key)
		for i, c := range all[0].Cases {
			assert.True(t, asksFor(&c, row.key), c.Name)
			if i > 0 {
				assert.LessOrEqual(t, setup.Length(all[0], &all[0].Cases[i-1]), setup.Length(all[0], &c), c.Name)
			}
		}
		rest := all[slices.Index(names[1:], row.suites[0])+1]
		whole := all[len(all)-1]
		assert.Equal(t, row.suites[0], whole.Name, "what was divided is played as a whole at last")
		assert.ElementsMatch(t, titlesOf(whole), append(titlesOf(all[0]), titlesOf(rest)...), "all cases are played")
	}
	assert.Equal(t, setup.Suites, playing(setup, &Seeded{Key: "reverse", Harmless: "it is right"}))
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

// Whoever stopped a campaign waits for no plan of what is not played any more: these files would be refused if they were read.
func TestAHuntOfAStoppedCampaignIsNotBegun(t *testing.T) {
	stopped, stop := context.WithCancel(t.Context())
	stop()
	h := &hunt{fault: Fault{Seeded: Seeded{Name: "frozen_believed", Key: "yaw_frozen"}}}
	v := &campaign{boards: 1}
	require.NoError(t, v.hunt(stopped, h))
	assert.Equal(t, record.NotRun, h.fault.Verdict)
	assert.Zero(t, v.done)
}

// What was found before it was stopped is kept, and the rest is not run.
func TestAStoppedCampaignKeepsWhatItFound(t *testing.T) {
	subjects, err := Subjects([]suites.Files{filesOf("built-in/moment", oneTurn)}, language.Source{})
	require.NoError(t, err)
	interrupted, stop := context.WithCancel(t.Context())
	defer stop()
	a, err := RunFaults(interrupted, subjects, parts.Split{}, func(p Progress) {
		if p.Done >= 12 {
			stop()
		}
	})
	require.NoError(t, err)
	left := a.Tally(record.NotRun)
	assert.Positive(t, a.Tally(Found)+a.Tally(NotFound))
	assert.Positive(t, left)
	assert.Len(t, a.Faults, len(SeededInto("built-in/moment")))
	assert.Equal(t, fmt.Sprintf("interrupted after %d of %d faults; what suites find of the rest is not known", len(a.Faults)-left, len(a.Faults)), a.Interrupted())
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

func titlesOf(s *file.Suite) (all []string) {
	for i := range s.Cases {
		all = append(all, s.Cases[i].Name+" "+s.Cases[i].Variant)
	}
	return all
}
