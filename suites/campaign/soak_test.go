package campaign

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"hilrig/rig/board"
	"hilrig/suites"
	"hilrig/suites/language"
	"hilrig/suites/standard"
)

// A fault that shows after five minutes is found by the long suite, at its first minute after that, and the others are
// not played it.
func TestALateFaultIsHuntedByALongDrive(t *testing.T) {
	if testing.Short() {
		t.Skip("plays some minutes of driving")
	}
	all, err := Subjects([]suites.Files{filesOf("built-in", standards(t, standard.Names()...)...)}, language.Source{})
	require.NoError(t, err)
	v := &campaign{}
	h := hunt{}
	for _, f := range all[0].Faults() {
		assert.Equal(t, board.ShowsAfter(f.Name) > 0, f.Late, f.Name)
		files := all[0].hunted(&f)
		if f.Late {
			require.Len(t, files.Suites, 1, f.Name)
			assert.Equal(t, "standard/soak.yaml", files.Suites[0].Path)
		} else {
			assert.Len(t, files.Suites, len(standard.Names()), f.Name)
		}
		if f.Name == "shift_gone_later" {
			h = hunt{files: files, fault: Fault{Seeded: f}}
		}
	}
	require.NoError(t, v.hunt(t.Context(), &h))
	assert.Equal(t, Found, h.fault.Verdict)
	assert.Equal(t, "another minute", h.fault.Case)
	assert.Contains(t, h.fault.Check, "understeer")
	assert.InDelta(t, 360, v.driving.Seconds(), 40, "it ends with the minute that finds it")
}

// Suites that an owner names are played as they are.
func TestSuitesThatAreNamedAreNotSoaked(t *testing.T) {
	all, err := Subjects([]suites.Files{filesOf("built-in", standards(t, "split")...)}, language.Source{})
	require.NoError(t, err)
	for _, f := range all[0].Faults() {
		assert.Len(t, all[0].hunted(&f).Suites, 1, f.Name)
		assert.NotEqual(t, "standard/soak.yaml", all[0].hunted(&f).Suites[0].Path)
	}
}
