//go:build full

package suites_test

import (
	"encoding/json"
	"os"
	"slices"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"hilrig/rig/board"
	"hilrig/suites"
	"hilrig/suites/record"
	"hilrig/suites/report/faults"
)

// sameMistakes returns the faults of the second board that are the same mistake as one of the first, by the latter.
func sameMistakes(t *testing.T) (second map[string]string) {
	t.Helper()
	text, err := os.ReadFile("report/faults/testdata/same_mistakes.json")
	require.NoError(t, err)
	require.NoError(t, json.Unmarshal(text, &second))
	return second
}

// looksLike says whether a run looks like a fault of the first board, or the same mistake of the second, named first or second.
func looksLike(t *testing.T, r *record.Result, fault string) bool {
	t.Helper()
	same := sameMistakes(t)[fault]
	l := faults.Known().Looks(r)
	found := l != nil && slices.ContainsFunc(l.Like[:min(2, len(l.Like))], func(x faults.Likeness) bool {
		return x.Fault.Title() == "built-in:"+fault || x.Fault.Title() == "built-in/moment:"+same
	})
	t.Logf("%s, named %v: %q", fault, found, l.Lines())
	return found
}

// The table is made at one seed; at another the same fault is told.
func TestASeededFaultIsToldAtAnotherSeed(t *testing.T) {
	right, of := 0, 0
	for _, f := range board.Faults() {
		files := bramble("built-in:" + f.Name)
		files.Seed = 7
		r, _ := play(t, load(t, files), suites.Options{})
		of++
		if looksLike(t, r, f.Name) {
			right++
		}
	}
	t.Logf("%d of %d faults are named first or second", right, of)
	assert.GreaterOrEqual(t, 4*right, 3*of)
}

// A wheelbase of 260 mm in place of 330 mm is told as a wrong wheelbase, of which the table knows another length.
func TestAnotherWheelbaseIsToldAsAWheelbase(t *testing.T) {
	s := load(t, bramble("", "demand", "split", "limits"))
	b := board.Bramble()
	b.Wheelbase = 0.26
	s.WithBoard("wheelbase of 260 mm", b)
	r, _ := play(t, s, suites.Options{})
	assert.Equal(t, "wrong_wheelbase", faults.Known().Looks(r).Like[0].Fault.Name)
}

// Boards that keep a drawn law but for one seeded fault, with wires and a policy of their own, are told by the table of the
// built-in boards: each seeded fault once, on one of twenty laws. What passes there, or stays open, is none that a table could tell.
func TestAFaultInADrawnLawIsTold(t *testing.T) {
	right, of := 0, 0
	for i, fault := range board.Faults() {
		n := 1 + uint64(7*i%20)
		d := drawLaw(n)
		f := bramble("")
		f.Car, f.Bench, f.Seed = d.car, d.bench, n
		b, err := board.WithFault(boardOf(t, n, &d), fault.Name)
		require.NoError(t, err)
		s := load(t, f)
		s.WithBoard("drawn", b)
		r, _ := play(t, s, suites.Options{Workers: 2})
		if r.Outcome != record.NoGo {
			t.Logf("law %d with %s is %s", n, fault.Name, r.Outcome)
			continue
		}
		of++
		if looksLike(t, r, fault.Name) {
			right++
		}
	}
	t.Logf("%d of %d are named first or second", right, of)
	// Of the fourteen mistakes of the second board that the first one has too, twelve are named as well: forty in all.
	assert.GreaterOrEqual(t, right, 28)
	assert.GreaterOrEqual(t, 5*right, 3*of)
}
