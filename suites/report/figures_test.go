package report_test

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"hilrig/suites/record"
	"hilrig/suites/report"
)

// measuredStand returns the result of a controller under one held condition and one that was not
// played.
func measuredStand() *record.Result {
	figure := func(name, verdict string, estimate, limit float64) record.Check {
		c := record.Check{Name: name, Verdict: verdict, Quantity: name, Unit: "%", Estimate: record.Number(estimate), Low: record.Number(estimate - 0.15), High: record.Number(estimate + 0.15)}
		if limit > 0 {
			c.LimitHigh = record.Number(limit)
		}
		return c
	}
	lack := func(name, verdict, why string) record.Check {
		return record.Check{Name: name, Verdict: verdict, Why: why}
	}
	threshold := figure("start_threshold", record.MeasuredOnly, 5, 0)
	r := &record.Result{Suites: []record.Suite{{Name: "throttle", Cases: []record.Case{
		{Name: "speed 120 rad/s", Variant: "as measured", Checks: []record.Check{
			figure("independent_linearity", record.Pass, 1, 3), threshold,
			lack("dead_band", record.NotAsked, "no small changes were played"), lack("resolution", record.NotAsked, "no small changes were played"),
			lack("full_output", record.NotAsked, "no inertia"), lack("drift", record.Undecided, "not read again"), figure("first_tenth", record.Fail, 2, 1),
		}},
		{Name: "speed 120 rad/s", Variant: "at constant voltage", Checks: []record.Check{
			figure("independent_linearity", record.Pass, 0.5, 3), threshold, lack("drift", record.Undecided, "not read again"), figure("first_tenth", record.Fail, 2.2, 1),
		}},
		{Name: "locked", Variant: "as measured", Verdict: record.NotRun, Why: "the run ended before"},
	}}}}
	r.Seal()
	return r
}

func TestHeldConditionsShowWhatWasMeasuredOrAsked(t *testing.T) {
	all := report.HeldConditions(measuredStand())
	require.Len(t, all, 3)
	names := func(h *report.Held) (names []string) {
		for _, c := range h.Shown {
			names = append(names, c.Name)
		}
		return names
	}
	assert.Equal(t, []string{"independent_linearity", "start_threshold", "drift", "first_tenth"}, names(all[0]))
	assert.False(t, all[0].Same)
	assert.Equal(t, []report.Unmeasured{{Why: "no small changes were played", Names: []string{"dead band", "resolution"}}, {Why: "no inertia", Names: []string{"full output"}}}, all[0].Unmeasured)
	assert.Equal(t, []string{"independent_linearity", "first_tenth"}, names(all[1]), "what came to the same is not said again")
	assert.True(t, all[1].Same)
	assert.Empty(t, names(all[2]))
	assert.Equal(t, record.NotRun, all[2].Verdict)
}

func TestUnmetFiguresAreSaidOnceForAHeldCondition(t *testing.T) {
	var said []string
	for _, u := range report.UnmetFigures(measuredStand()) {
		said = append(said, u.Verdict+" "+u.Name+", "+u.Where()+": "+u.Says())
	}
	assert.Equal(t, []string{
		"fail slope of the first tenth, speed 120 rad/s (as measured): 2.00 % (1.85 to 2.15); at most 1 %",
		"fail slope of the first tenth, speed 120 rad/s (at constant voltage): 2.20 % (2.05 to 2.35); at most 1 %",
		"undecided drift, speed 120 rad/s (as measured, at constant voltage): not measured; not read again",
	}, said)
}

func TestFigureNames(t *testing.T) {
	assert.Equal(t, "zero-based linearity", report.FigureName("zero_based_linearity"))
	assert.Equal(t, "hysteresis", report.FigureName("hysteresis"))
	assert.Equal(t, "understeer: outside_rear raised", report.FigureName("understeer: outside_rear raised"))
}
