package suites

import (
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"hilrig/plant"
	"hilrig/rig/board"
	"hilrig/rig/signal"
	"hilrig/suites/demo"
	"hilrig/suites/language"
	"hilrig/suites/record"
)

// loadPolicy loads the demo with another response in its policy.
func loadPolicy(t *testing.T, response string, suites ...string) *Setup {
	t.Helper()
	const is = "response: {at_most: 12 ms, of: 95 %}"
	require.Contains(t, string(demo.CarYAML), is)
	f := Files{
		Car:   language.Source{Path: demo.CarPath, Data: []byte(strings.Replace(string(demo.CarYAML), is, response, 1))},
		Bench: language.Source{Path: demo.BenchPath, Data: demo.BenchYAML}, Seed: 1,
	}
	for _, s := range suites {
		f.Suites = append(f.Suites, language.Source{Path: "own.yaml", Data: []byte(s)})
	}
	s, err := Load(f)
	require.NoError(t, err)
	return s
}

// withShaping puts Bramble's board with this shaping on the bench.
func withShaping(s *Setup, x board.Shaping) *oracle {
	b := board.Bramble()
	b.Shaping = x
	s.WithBoard("shaped", b)
	return &oracle{s: b, dead: 0.01}
}

// slowTrials is how many boards, of 2 with the tag full, answer so slowly that their trials are played again.
var slowTrials = 1

const yawTrials = `
suite: trials
about: The response to the yaw rate.
defaults: {speed: 4 m/s, steer: 8 deg, throttle: 40 %, gain: 50 %, settle: 300 ms, observe: 400 ms}
cases:
  - case: response
    baseline: none
    steps:
      - {step: too little, trials: {yaw_rate: [100 % of demand, 30 % of demand], count: 200, interval: 60 ms}}
    expect:
      - {policy: response, step: too little}
`

// Trials whose answers run into each other are played again, farther apart, and what is then
// found is the board's.
func TestTrialsStandAsFarApartAsAnswersTake(t *testing.T) {
	for _, row := range []struct {
		name string
		x    board.Shaping
	}{
		{"slew limit", board.Shaping{Slew: 0.5}},
		{"lag", board.Shaping{CommandLag: 60 * ms}},
	}[:slowTrials] {
		t.Run(row.name, func(t *testing.T) {
			x := row.x
			s := loadPolicy(t, "response: {at_most: 60 ms, of: 95 %}", yawTrials)
			withShaping(s, x)
			r, _, err := s.Run(t.Context(), Options{})
			require.NoError(t, err)
			c := &r.Suites[0].Cases[0]
			// That no smoothing is declared other checks may find wrong.
			require.Equal(t, "response", c.Checks[0].Name)
			require.Equal(t, record.Pass, c.Checks[0].Verdict, "%+v", c.Checks)
			assert.Equal(t, 1, c.Again)
			assert.GreaterOrEqual(t, c.LengthNS, int64(200*240*ms))
			apart := loadPolicy(t, "response: {at_most: 60 ms, of: 95 %}", strings.Replace(yawTrials, "interval: 60 ms", "interval: 600 ms", 1))
			withShaping(apart, x)
			far, _, err := apart.Run(t.Context(), Options{})
			require.NoError(t, err)
			want := &far.Suites[0].Cases[0].Checks[0]
			assert.Zero(t, far.Suites[0].Cases[0].Again)
			assert.InDelta(t, *want.Estimate, *c.Checks[0].Estimate, *want.High-*want.Low)
		})
	}
}

// What the policy declares of a filter or a slew limit keeps trials apart from the first.
func TestTrialsStandApartByWhatThePolicyDeclares(t *testing.T) {
	const response = "response: {at_most: 60 ms, of: 95 %}"
	s := loadPolicy(t, response+"\n  smoothing: {filter: 60 ms, full_range_in: 200 ms}", yawTrials)
	assert.Equal(t, 320*ms, s.Suites[0].Cases[0].Steps[0].Trials.Interval)
	withShaping(s, board.Shaping{CommandLag: 60 * ms})
	r, _, err := s.Run(t.Context(), Options{})
	require.NoError(t, err)
	assert.Equal(t, record.Pass, r.Suites[0].Cases[0].Verdict)
	assert.Zero(t, r.Suites[0].Cases[0].Again)
}

// A board that answers at once is not played to twice.
func TestTrialsAreNotPlayedAgainWithoutNeed(t *testing.T) {
	r, _, err := loadPolicy(t, "response: {at_most: 12 ms, of: 95 %}", yawTrials).Run(t.Context(), Options{})
	require.NoError(t, err)
	assert.Equal(t, record.Pass, r.Suites[0].Cases[0].Verdict)
	assert.Zero(t, r.Suites[0].Cases[0].Again)
}

// The response that is judged is that of the motor that takes longest.
func TestResponseIsThatOfTheSlowestMotor(t *testing.T) {
	s := loadPolicy(t, "response: {at_most: 12 ms, of: 95 %}", yawTrials)
	withShaping(s, board.Shaping{Delay: [4]signal.Time{plant.RearRight: 8 * ms}})
	r, _, err := s.Run(t.Context(), Options{})
	require.NoError(t, err)
	k := &r.Suites[0].Cases[0].Checks[0]
	assert.Equal(t, record.Fail, k.Verdict)
	assert.Contains(t, k.Why, "motor_rear_right answers 95 %")
}

// Trials stand at least three frames of the slowest sensor or receiver apart.
func TestTrialsOfSlowSensorsStandFartherApart(t *testing.T) {
	for _, tt := range []struct {
		from, to string
		want     signal.Time
	}{
		{"rate: 200 Hz", "rate: 200 Hz", 60 * ms},
		{"rate: 200 Hz", "rate: 25 Hz", 120 * ms},
		{"steer: {rate: 100 Hz}", "steer: {rate: 40 Hz}", 75 * ms},
	} {
		bench := string(demo.BenchYAML)
		swap(&bench, tt.from, tt.to)
		s, err := Load(Files{
			Car:    language.Source{Path: demo.CarPath, Data: demo.CarYAML},
			Bench:  language.Source{Path: demo.BenchPath, Data: []byte(bench)},
			Suites: []language.Source{{Path: "own.yaml", Data: []byte(yawTrials)}}, Seed: 1,
		})
		require.NoError(t, err)
		assert.Equal(t, tt.want, s.Suites[0].Cases[0].Steps[0].Trials.Interval, tt.to)
	}
}
