package faults_test

import (
	"cmp"
	"encoding/json"
	"fmt"
	"maps"
	"os"
	"slices"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"hilrig/suites/record"
	"hilrig/suites/report/faults"
)

// verdictsWith returns what a board comes to with one of its faults.
func verdictsWith(b *faults.Board, f *faults.Fault) faults.Verdicts {
	all := maps.Clone(b.Sound)
	maps.Copy(all, f.Unmet)
	return all
}

// runOf returns a NO-GO that came to these verdicts.
func runOf(all faults.Verdicts) *record.Result {
	keys := slices.SortedFunc(maps.Keys(all), func(a, b faults.Key) int {
		return cmp.Or(cmp.Compare(a.Suite, b.Suite), cmp.Compare(a.Case, b.Case), cmp.Compare(a.Variant, b.Variant), cmp.Compare(a.Check, b.Check), cmp.Compare(a.Nth, b.Nth))
	})
	r := &record.Result{Outcome: record.NoGo}
	var last faults.Key
	for _, key := range keys {
		if len(r.Suites) == 0 || key.Suite != last.Suite {
			r.Suites = append(r.Suites, record.Suite{File: "standard/" + key.Suite + ".yaml"})
		}
		s := &r.Suites[len(r.Suites)-1]
		if len(s.Cases) == 0 || key.Case != last.Case || key.Variant != last.Variant {
			s.Cases = append(s.Cases, record.Case{Name: key.Case, Variant: key.Variant})
		}
		c := &s.Cases[len(s.Cases)-1]
		c.Checks = append(c.Checks, record.Check{Name: key.Check, Verdict: all[key]})
		last = key
	}
	return r
}

// onFirst returns those of the likenesses that are to faults of the first board, without the fault of this name.
func onFirst(all []faults.Likeness, without string) []faults.Likeness {
	return slices.DeleteFunc(slices.Clone(all), func(l faults.Likeness) bool {
		return l.Fault.Board != "built-in" || l.Fault.Name == without
	})
}

// likes returns the names of the faults that a run looks like.
func likes(l *faults.Looks) (names []string) {
	for _, one := range l.Like {
		names = append(names, one.Fault.Name)
	}
	return names
}

// failsSomething says whether a check fails with the fault.
func failsSomething(f *faults.Fault) bool {
	return slices.Contains(slices.Collect(maps.Values(f.Unmet)), record.Fail)
}

// A run with the pattern of a fault looks like it. One with the pattern of a fault that the table does not have looks like none
// of it in at least 7 of 10: some faults differ in little, as one_branch and oversteer_pair, and each is the other's nearest.
func TestAPatternLooksLikeItsFaultAndWithoutItLikeNone(t *testing.T) {
	b := faults.Known().Boards[0]
	none, of := 0, 0
	for _, f := range b.Faults {
		if !failsSomething(f) {
			continue
		}
		all := faults.Known().Likenesses(runOf(verdictsWith(b, f)))
		assert.Equal(t, f.Name, likes(faults.Among(all))[0])
		of++
		if without := faults.Among(onFirst(all, f.Name)); len(without.Like) == 0 {
			none++
			assert.Contains(t, without.Lines()[0], fmt.Sprintf("looks like none of the %d seeded faults", len(b.Faults)-1))
		} else {
			t.Logf("%s looks like %v", f.Name, likes(without))
		}
	}
	t.Logf("%d of %d look like none where the table does not have them", none, of)
	assert.GreaterOrEqual(t, 10*none, 7*of)
}

// twins returns the faults of the first board that are also mistakes of the second, by their name there.
func twins(t *testing.T) map[string]string {
	t.Helper()
	text, err := os.ReadFile("testdata/same_mistakes.json")
	require.NoError(t, err)
	second, first := map[string]string{}, map[string]string{}
	require.NoError(t, json.Unmarshal(text, &second))
	for one, other := range second {
		first[other] = one
	}
	return first
}

// The second board keeps another policy on other wires. The first board's table names the same mistake first or
// second, in at least 6 of 7, and of the others, which are mistakes that the first board has not, at most 1 in 4.
func TestTheSamePatternIsKnownUnderAnotherPolicy(t *testing.T) {
	second := faults.Known().Boards[1]
	twins := twins(t)
	same, ofSame, other, ofOther := 0, 0, 0, 0
	for _, f := range second.Faults {
		if !failsSomething(f) {
			continue
		}
		like := likes(faults.Among(onFirst(faults.Known().Likenesses(runOf(verdictsWith(second, f))), "")))
		twin := twins[f.Name]
		switch {
		case twin != "" && slices.Contains(like[:min(2, len(like))], twin):
			same++
			fallthrough
		case twin != "":
			ofSame++
		case len(like) > 0:
			other++
			t.Logf("%s looks like %v", f.Name, like)
			fallthrough
		default:
			ofOther++
		}
	}
	t.Logf("%d of %d are named, and of others %d of %d", same, ofSame, other, ofOther)
	assert.GreaterOrEqual(t, 4*same, 3*ofSame)
	assert.LessOrEqual(t, 4*other, ofOther)
}

// A mistake that shows at some speeds alone is no dead encoder, which shows at all of them.
func TestADeadEncoderShowsAtAllSpeeds(t *testing.T) {
	b := faults.Known().Boards[0]
	dead := b.Faults[slices.IndexFunc(b.Faults, func(f *faults.Fault) bool { return f.Name == "encoder_dead" })]
	all := verdictsWith(b, dead)
	require.Equal(t, "encoder_dead", likes(faults.Known().Looks(runOf(all)))[0])
	for key, verdict := range all {
		if verdict == record.Fail && strings.Contains(key.Variant, "speed near 6 m/s") {
			all[key] = record.Pass
		}
	}
	l := faults.Known().Looks(runOf(all))
	assert.NotContains(t, likes(l), "encoder_dead")
}

func TestWhatLooksLikeNothing(t *testing.T) {
	b := faults.Known().Boards[0]
	run := runOf(verdictsWith(b, b.Faults[0]))
	run.Outcome = record.NotShown
	assert.Nil(t, faults.Known().Looks(run), "no NO-GO")
	run.Outcome, run.Suites[0].File = record.NoGo, "own.yaml"
	for i := range run.Suites {
		run.Suites[i].File = "own.yaml"
	}
	assert.Nil(t, faults.Known().Looks(run), "of the owner's own suites nothing is known")
	assert.Nil(t, (&faults.Table{}).Looks(run))
	assert.Empty(t, (*faults.Looks)(nil).Lines())
}

func TestLooksInWords(t *testing.T) {
	b := faults.Known().Boards[0]
	yaw := b.Faults[slices.IndexFunc(b.Faults, func(f *faults.Fault) bool { return f.Name == "yaw_sign" })]
	assert.Regexp(t, `^looks like built-in:yaw_sign \(The yaw rate is taken with the wrong sign\): (\d+) of (\d+) failed checks in common\n`+faults.Caution+`$`,
		strings.Join(faults.Known().Looks(runOf(verdictsWith(b, yaw))).Lines(), "\n"))
	assert.Regexp(t, `^looks like none of the \d+ seeded faults; the nearest is built-in:\w+ \(.*\): \d+ of \d+ failed checks in common$`,
		strings.Join(faults.Among(onFirst(faults.Known().Likenesses(runOf(verdictsWith(b, yaw))), "yaw_sign")).Lines(), "\n"))
}

func TestAResultIsMarkedWithWhatItLooksLike(t *testing.T) {
	b := faults.Known().Boards[0]
	run := runOf(verdictsWith(b, b.Faults[slices.IndexFunc(b.Faults, func(f *faults.Fault) bool { return f.Name == "no_cap" })]))
	faults.Known().Mark(run)
	require.NotEmpty(t, run.LooksLike)
	first := run.LooksLike[0]
	assert.Equal(t, record.Like{
		Board: "built-in", Fault: "no_cap", Says: "The cap on the commands while the steering is turned is missing.", Common: first.Failed, Failed: first.Failed, Share: 1,
	}, first)
	assert.Positive(t, first.Failed)
	sound := runOf(b.Sound)
	sound.LooksLike = run.LooksLike
	faults.Known().Mark(sound)
	assert.Empty(t, sound.LooksLike)
}

// One failed check tells little: the faults that make it fail are told as alike.
func TestWhatIsNotToldApartIsToldSo(t *testing.T) {
	run := &record.Result{Outcome: record.NoGo, Suites: []record.Suite{{File: "standard/life.yaml", Cases: []record.Case{{
		Name: "a car that turns too little has torque shifted", Checks: []record.Check{{Name: "every command within the policy", Verdict: record.Fail}},
	}}}}}
	l := faults.Known().Looks(run)
	assert.True(t, l.Alike)
	assert.Subset(t, likes(l), []string{"left_right", "yaw_sign", "steer_sign", "sum_lost"})
	assert.Regexp(t, `^looks like any of \d+ seeded faults, which what failed and passed does not tell apart: built-in:\w+, `, l.Lines()[0])
}
