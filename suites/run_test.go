package suites

import (
	"context"
	"slices"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"hilrig/assertions"
	"hilrig/rig/interlock"
	"hilrig/rig/signal"
	"hilrig/suites/demo"
	"hilrig/suites/language"
	"hilrig/suites/record"
	"hilrig/suites/standard"
)

const short = `
suite: short
defaults: {speed: 4 m/s, steer: 8 deg, throttle: 40 %, gain: 50 %, settle: 200 ms, observe: 200 ms}
cases:
  - case: in
    each: {turn: [left, right]}
    hold: {yaw_rate: 70 % of demand}
    expect: [{policy: understeer}]
  - case: out
    hold: {yaw_rate: 130 % of demand}
    expect: [{policy: oversteer}]
`

// load reads suites on the demo's car and bench.
func load(t testing.TB, board string, yaml ...string) *Setup {
	f := Files{
		Car:   language.Source{Path: demo.CarPath, Data: demo.CarYAML},
		Bench: language.Source{Path: demo.BenchPath, Data: demo.BenchYAML},
		Board: board, Seed: 1,
	}
	for i, y := range yaml {
		f.Suites = append(f.Suites, language.Source{Path: string(rune('a'+i)) + ".yaml", Data: []byte(y)})
	}
	s, err := Load(f)
	require.NoError(t, err)
	return s
}

func TestRunIsTheSameHoweverManySuitesRunSideBySide(t *testing.T) {
	other := "suite: other" + short[len("\nsuite: short"):]
	one, _, err := load(t, "", short, other).Run(context.Background(), Options{})
	require.NoError(t, err)
	two, _, err := load(t, "", short, other).Run(context.Background(), Options{Workers: 2})
	require.NoError(t, err)
	assert.Equal(t, record.Go, one.Outcome)
	assert.Equal(t, string(one.JSON()), string(two.JSON()))
	assert.NotEqual(t, one.Suites[0].Cases[0].Trace, one.Suites[1].Cases[0].Trace, "suites have phases of their own")
}

// The windows of a standard suite are given, those of an owner's are not, be it that it goes by such a name.
func TestEvidenceSaysWhoseTheWindowsAre(t *testing.T) {
	path, data, ok := standard.Source("split")
	require.True(t, ok)
	s := load(t, "", string(data), short)
	s.Suites[0].Source.Path = path
	s.Suites[1].Source.Path = "standard/short.yaml"
	given := map[string]bool{}
	_, _, err := s.Run(t.Context(), Options{Only: "in", Evidence: func(i, _ int, e *assertions.Evidence) {
		given[s.Suites[i].Name] = e.Given
	}})
	require.NoError(t, err)
	assert.Equal(t, map[string]bool{"torque split": true, "short": false}, given)
}

func TestRunFindsAFaultAndNamesTheBranch(t *testing.T) {
	r, _, err := load(t, "built-in:one_branch", short).Run(context.Background(), Options{})
	require.NoError(t, err)
	assert.Equal(t, record.NoGo, r.Outcome)
	assert.Equal(t, []string{record.Pass, record.Pass, record.Fail},
		[]string{r.Suites[0].Cases[0].Verdict, r.Suites[0].Cases[1].Verdict, r.Suites[0].Cases[2].Verdict})
	failed := r.Suites[0].Cases[2].Checks
	i := slices.IndexFunc(failed, func(c record.Check) bool { return c.Verdict == record.Fail })
	assert.Equal(t, "oversteer: outside_front raised", failed[i].Name)
	assert.Contains(t, failed[i].Excerpt, "policy: oversteer")
}

func TestEachCaseIsReportedOnce(t *testing.T) {
	var reported []string
	var all []Progress
	s := load(t, "", short)
	_, driving, err := s.Run(context.Background(), Options{
		Case:     func(suite, index int, c record.Case) { reported = append(reported, c.Name+" "+c.Variant) },
		Progress: func(p Progress) { all = append(all, p) },
	})
	require.NoError(t, err)
	assert.Equal(t, []string{"in turn left", "in turn right", "out "}, reported)
	last := all[len(all)-1]
	assert.Equal(t, 3, last.Done)
	assert.Equal(t, 3, last.Total)
	assert.Equal(t, driving, last.Driving)
	whole := s.SuiteLength(s.Suites[0])
	assert.Equal(t, Progress{Total: 3, Left: whole}, all[0], "before anything is played")
	assert.Equal(t, whole, last.Played)
	assert.Zero(t, last.Left)
	for i := 1; i < len(all); i++ {
		assert.Less(t, all[i].Left, all[i-1].Left)
		assert.Equal(t, whole, all[i].Played+all[i].Left)
	}
}

func TestStoppedRunKeepsWhatWasJudged(t *testing.T) {
	ctx, stop := context.WithCancel(context.Background())
	r, _, err := load(t, "", short).Run(ctx, Options{Case: func(int, int, record.Case) { stop() }})
	require.ErrorIs(t, err, context.Canceled)
	cases := r.Suites[0].Cases
	assert.Equal(t, record.Pass, cases[0].Verdict)
	assert.Equal(t, record.NotRun, cases[1].Verdict)
	assert.Equal(t, "the run was stopped", cases[2].Why)
	assert.Equal(t, record.NotShown, r.Outcome)
}

func TestOnlyAndFresh(t *testing.T) {
	s := load(t, "", short)
	_, _, err := s.Run(context.Background(), Options{Only: "sideways"})
	require.ErrorIs(t, err, ErrNothingToRun)
	assert.ErrorContains(t, err, "sideways")
	s.Bench.Power = interlock.WheelsOffGround
	_, _, err = s.Run(context.Background(), Options{Only: "TURN RIGHT"})
	assert.EqualError(t, err, `no case to play: all are left out ("in (turn right)": may be played up to signals_only, and the motors are powered as wheels_off_ground); play others, or change the bench`)
	s.Bench.Power = interlock.SignalsOnly
	r, driving, err := s.Run(context.Background(), Options{Only: "TURN RIGHT"})
	require.NoError(t, err)
	assert.Equal(t, record.Pass, r.Suites[0].Cases[1].Verdict)
	assert.Equal(t, record.Skipped, r.Suites[0].Cases[2].Verdict, "left out by what was asked for")
	var estimated signal.Time
	_, fresh, err := s.Run(context.Background(), Options{Only: "TURN RIGHT", Fresh: true, Progress: func(p Progress) { estimated = max(estimated, p.Left) }})
	require.NoError(t, err)
	assert.InDelta(t, fresh.Seconds(), estimated.Seconds(), 0.1)
	assert.InDelta(t, 3, (fresh - driving).Seconds(), 0.1, "the board is ready 3 s after a restart")
}

func TestShuffledCasesHaveTheSameVerdicts(t *testing.T) {
	s := load(t, "built-in:gain_ignored", short)
	straight, _, err := s.Run(context.Background(), Options{})
	require.NoError(t, err)
	slices.Reverse(s.Suites[0].Cases)
	back, _, err := s.Run(context.Background(), Options{})
	require.NoError(t, err)
	for i, c := range straight.Suites[0].Cases {
		assert.Equal(t, c.Verdict, back.Suites[0].Cases[2-i].Verdict)
	}
}

func TestWrongBoardsAreNamed(t *testing.T) {
	for _, board := range []string{"bult-in", "built-in:yaw_sing", "null:quiet", "null"} {
		_, err := Load(Files{Board: board})
		assert.ErrorContains(t, err, board[len(board)-4:])
	}
}

func TestPlayedHoldShowsTheShift(t *testing.T) {
	p, err := load(t, "").Play(context.Background(), Hold{Speed: 4, Steer: 0.14, Throttle: 0.4, Gain: 0.5, YawRate: 0.7, OfDemand: true})
	require.NoError(t, err)
	assert.Equal(t, "understeer", p.Branch)
	assert.Equal(t, 1, p.Turn)
	// By the policy: 8 % at 60 deg/s of error and 50 % of gain, on a demand of V d/(L + K V^2).
	demand := 4 * 0.14 / (0.33 + 0.0028*16)
	want := 0.08 * (0.3 * demand) / (60 * 3.14159265 / 180)
	shift := func(i int) float64 {
		require.NotNil(t, p.Motors[i].Read, p.Motors[i].Why)
		return p.Motors[i].Read.Shift
	}
	assert.InDelta(t, want, shift(3), 0.1*want, "outside rear raised")
	assert.InDelta(t, -want, shift(0), 0.1*want, "inside front lowered")
	assert.InDelta(t, 0, shift(1), 0.002)
	assert.Equal(t, record.Go, p.Outcome())
}

func TestCasesAboveTheirPowerLevelAreSkipped(t *testing.T) {
	s := load(t, "", short)
	s.Bench.Power = interlock.MotorsNoWheels
	s.Suites[0].Cases[1].UpTo = interlock.WheelsOffGround
	s.Suites[0].Cases[0].UpTo, s.Suites[0].Cases[2].UpTo = interlock.SignalsOnly, interlock.SignalsOnly
	r, _, err := s.Run(context.Background(), Options{})
	require.NoError(t, err)
	assert.Equal(t, []string{record.Skipped, record.Pass, record.Skipped},
		[]string{r.Suites[0].Cases[0].Verdict, r.Suites[0].Cases[1].Verdict, r.Suites[0].Cases[2].Verdict})
	assert.Contains(t, r.Suites[0].Cases[0].Why, "signals_only")
	assert.Equal(t, 1, s.Planned(Options{}))
}
