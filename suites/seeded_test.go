package suites_test

import (
	"slices"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"hilrig/rig/benchtest/drawn"
	"hilrig/rig/board"
	"hilrig/suites"
	"hilrig/suites/record"
)

// foundBy is where a seeded fault is looked for: the suite, the cases whose
// title contains the words, and the beginning of the check that fails.
type foundBy struct{ suite, cases, check string }

const sweepOnce = "demand by sweep (turn left, speed near 3 m/s, steer near 8 deg)"

// nearest names for each fault of the built-in board the cases that its policy
// key is there for.
var nearest = map[string]foundBy{
	"checksum_unchecked":     {"losses", "wrong checksum", "bad checksum"},
	"coarse_command":         {"limits", "fine steps", "resolution"},
	"degrees_for_radians":    {"demand", sweepOnce, "demand: yaw rate"},
	"drives_at_once":         {"losses", "motors stay off", "start"},
	"encoder_dead":           {"demand", sweepOnce, "demand: yaw rate"},
	"encoder_loss_unnoticed": {"losses", "encoder of the inside rear", "encoder lost"},
	"frame_too_high":         {"split", "understeer turns", "every command within the policy"},
	"frozen_believed":        {"losses", "frozen", "yaw frozen"},
	"gain_ignored":           {"split", "follows the gain", "understeer: size"},
	"left_right":             {"split", "understeer turns", "understeer"},
	"motors_unequal":         {"timing", "motors equal", "on demand: motors equal"},
	"never_recovers":         {"losses", "yaw-rate sensor lost", "recovers"},
	"no_cap":                 {"limits", "cap holds", "cap"},
	"no_standstill":          {"split", "standstill", "standstill"},
	"one_branch":             {"split", "oversteer turns", "oversteer"},
	"opposite_understeer":    {"split", "opposite lock", "opposite lock"},
	"outputs_staggered":      {"timing", "together", "outputs together"},
	"oversteer_pair":         {"split", "oversteer turns", "oversteer"},
	"partner_stays":          {"limits", "upper limit", "at the limit"},
	"recovery_overshoot":     {"losses", "yaw-rate sensor lost", "every command within the policy"},
	"reverse_shifts":         {"split", "reverse", "reverse"},
	"slow_filter":            {"timing", "response to yaw", "response"},
	"slow_loop":              {"timing", "loop rate (turn left)", "loop rate"},
	"spike_believed":         {"losses", "a spike", "spike"},
	"steer_held":             {"losses", "steering lost", "steer lost"},
	"steer_sign":             {"demand", sweepOnce, "demand: yaw rate"},
	"sum_lost":               {"split", "understeer turns", "understeer: sum kept"},
	"throttle_held":          {"losses", "throttle lost", "throttle lost"},
	"turn_from_other":        {"split", "opposite lock", "opposite lock"},
	"wrap_below_zero":        {"limits", "nothing wraps", "no wrap"},
	"wrong_wheelbase":        {"demand", sweepOnce, "demand: yaw rate"},
	"yaw_held":               {"losses", "yaw-rate sensor lost", "yaw lost"},
	"yaw_sign":               {"split", "understeer turns", "understeer"},
	"zero_at_branch":         {"demand", sweepOnce, "every command within the policy"},
}

// TestEverySeededFaultIsFoundWhereItBelongs plays to each faulty board the cases
// that its policy key is there for; the healthy one passes them.
func TestEverySeededFaultIsFoundWhereItBelongs(t *testing.T) {
	require.GreaterOrEqual(t, len(board.Faults()), 16)
	late := 0
	for i, f := range board.Faults() {
		if board.ShowsAfter(f.Name) > 0 {
			late++
			continue
		}
		if !drawn.Row(i, 4) {
			continue
		}
		t.Run(f.Name, func(t *testing.T) {
			at, ok := nearest[f.Name]
			require.True(t, ok, "the fault has no place here")
			r, _ := play(t, load(t, bramble("built-in:"+f.Name, at.suite)), suites.Options{Only: at.cases})
			assert.Equal(t, record.NoGo, r.Outcome)
			assert.True(t, slices.ContainsFunc(failed(r), func(name string) bool { return strings.HasPrefix(name, at.check) }),
				"%q is none of the failed checks %q", at.check, failed(r))
			assert.NotContains(t, notAsked(r), f.Key, "the demo's policy has the key that makes it a fault")
		})
	}
	assert.Len(t, nearest, len(board.Faults())-late)
}

// TestSplitAloneFindsTheWorst holds the suite that is played first to the faults
// that spin a car and that the test above finds elsewhere.
func TestSplitAloneFindsTheWorst(t *testing.T) {
	if testing.Short() {
		t.Skip("plays many minutes of driving")
	}
	for _, fault := range []string{"steer_sign", "no_cap", "wrap_below_zero"} {
		r, _ := play(t, load(t, bramble("built-in:"+fault, "split")), suites.Options{})
		assert.Equal(t, record.NoGo, r.Outcome, fault)
	}
}

// failed lists the names of the checks that failed.
func failed(r *record.Result) []string {
	var names []string
	for _, s := range r.Suites {
		for _, c := range s.Cases {
			for _, k := range c.Checks {
				if k.Verdict == record.Fail {
					names = append(names, k.Name)
				}
			}
		}
	}
	return names
}

// notAsked lists the policy keys that the car file leaves out.
func notAsked(r *record.Result) []string {
	var keys []string
	for _, n := range r.NotAsked {
		if n.Part == "" {
			keys = append(keys, n.Key)
		}
	}
	return keys
}
