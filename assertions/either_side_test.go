package assertions_test

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"hilrig/assertions"
	"hilrig/assertions/law"
	"hilrig/rig/signal"
	"hilrig/rig/trace"
)

// Where the policy does not say what outside and inside go by, and steering and yaw rate differ, a board may move its motors
// as in a turn to the one side or as in one to the other: all four by the same side, and by neither is not enough.
func TestEitherSideWillDoWhereThePolicyLeavesTheOutsideOpen(t *testing.T) {
	from := func(of law.TurnFrom) board {
		return func(s assertions.Step, p *law.Policy) [4]float64 {
			turns := *p
			turns.TurnFrom = of
			return good(s, &turns)
		}
	}
	byYaw, bySteer := from(law.TurnFromYawRate), from(law.TurnFromSteer)
	for _, tt := range []struct {
		name  string
		board board
		want  assertions.Verdict
	}{
		{"by the yaw rate", byYaw, assertions.Pass},
		{"by the steering", bySteer, assertions.Pass},
		{"front by the one, rear by the other", func(s assertions.Step, p *law.Policy) [4]float64 {
			a, b := byYaw(s, p), bySteer(s, p)
			return [4]float64{a[0], a[1], b[2], b[3]}
		}, assertions.Fail},
		{"the wrong way round", func(s assertions.Step, p *law.Policy) [4]float64 {
			turns := *p
			turns.Oversteer = &law.Split{Raise: p.Oversteer.Lower, Lower: p.Oversteer.Raise}
			return byYaw(s, &turns)
		}, assertions.Fail},
		{"not at all", equal, assertions.Fail},
	} {
		for _, turn := range []string{"left", "right"} {
			steps := []assertions.Step{onDemand(1), held(1, -0.3)}
			if turn == "right" {
				steps = []assertions.Step{mirroredStep(steps[0]), mirroredStep(steps[1])}
			}
			p := policy()
			p.TurnFrom = 0
			results := assertions.Judge(assertions.PolicyBranch{Of: "opposite_lock"}, bench{board: tt.board, policy: p, spread: 0.0002}.play(steps...))
			require.Len(t, results, 1)
			assert.Equal(t, "opposite lock: motors moved as in a turn to one side", results[0].Name)
			assert.Equal(t, tt.want, results[0].Verdict, "%s, %s: %+v", tt.name, turn, results[0])
		}
	}
}

// Where the shift may be none for another reason as well, neither side is asked.
func TestNeitherSideIsAskedWhereTheShiftMayBeNone(t *testing.T) {
	p := policy()
	p.TurnFrom, p.Standstill = 0, nil
	steps := []assertions.Step{onDemand(1), held(1, -0.3)}
	for i := range steps {
		steps[i].Speed = 0.5 // which firmware may take for standing
	}
	e := bench{board: good, policy: p, spread: 0.0002}.play(steps...)
	results := assertions.Judge(assertions.PolicyBranch{Of: "opposite_lock"}, e)
	require.Len(t, results, 1)
	assert.Equal(t, assertions.NotAsked, results[0].Verdict, "%+v", results[0])
}

// A yaw rate whose noise takes it to the left and to the right leaves open what firmware that goes by it does: the mean of its
// commands is then that of a turn to neither side.
func TestASideThatTheNoiseChangesIsUndecided(t *testing.T) {
	for _, tt := range []struct {
		name string
		from law.TurnFrom
		yaw  []float64 // rad/s, that go out
		want assertions.Verdict
	}{
		{"to and fro", 0, []float64{-0.01, 0.01, -0.01}, assertions.Undecided},
		{"what the step before held was on its way", 0, []float64{1, -0.01, -0.02}, assertions.Fail},
		{"to one side", 0, []float64{-0.01, -0.02}, assertions.Fail},
		{"to and fro before the step alone", 0, nil, assertions.Fail},
	} {
		p := policy()
		p.TurnFrom = tt.from
		e := bench{board: equal, policy: p, spread: 0.0002}.play(onDemand(1), held(1, -0.3))
		sent := &e.Trace.Sent[trace.SentYawRate]
		*sent = append(*sent, trace.Sent{Start: e.Steps[0].From, End: e.Steps[0].From + 1, Value: 1}, trace.Sent{Start: e.Steps[0].From + 1, End: e.Steps[0].From + 2, Value: -1})
		for i, v := range tt.yaw {
			at := e.Steps[1].From + signal.Time(i+1)*10*signal.Millisecond
			*sent = append(*sent, trace.Sent{Start: at, End: at + 1, Value: v})
		}
		results := assertions.Judge(assertions.PolicyBranch{Of: "opposite_lock"}, e)
		require.Len(t, results, 1)
		assert.Equal(t, tt.want, results[0].Verdict, "%s: %+v", tt.name, results[0])
	}
}
