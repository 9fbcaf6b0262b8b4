package assertions_test

import (
	"math"
	"math/rand/v2"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"hilrig/assertions"
	"hilrig/assertions/law"
	"hilrig/rig/signal"
	"hilrig/rig/trace"
	"hilrig/stimulus"
)

// logged plays a lively invented drive to a board.
type logged struct {
	board  board
	policy *law.Policy
	lag    signal.Time // from an input on the wire to the command's end
	calm   bool        // the car turns as asked
	gain   float64     // 0: 50 %
	seed   uint64
	change func(e *assertions.Evidence)
}

const loggedFor = 12 * signal.Second

// moves are the inputs of the drive at a time: through the middle of the
// steering, into opposite lock, to full throttle.
func (b logged) moves(t signal.Time) assertions.Step {
	s := t.Seconds()
	m := assertions.Step{
		Steer: 12 * deg * math.Sin(2*s), Speed: 5 + 3*math.Sin(0.7*s),
		Throttle: 0.55 + 0.45*math.Sin(1.3*s), Gain: or(b.gain, 0.5),
	}
	if m.Throttle < 0.15 {
		m.Throttle = 0.15
	}
	m.Demand = b.policy.Demand.YawRate(m.Speed, m.Steer)
	m.YawRate = m.Demand
	if !b.calm {
		m.YawRate += 60 * deg * math.Sin(5*s)
	}
	return m
}

// sentAt lists an input as it goes on its wire every period.
func sentAt(period, phase signal.Time, of func(t signal.Time) float64) (list []trace.Sent) {
	for t := phase; t < loggedFor; t += period {
		list = append(list, trace.Sent{Start: t, End: t + signal.Millisecond, Value: of(t)})
	}
	return list
}

// heldAt returns the value of a list that holds at t.
func heldAt(list []trace.Sent, t signal.Time) float64 {
	for i := len(list) - 1; i >= 0; i-- {
		if list[i].End <= t {
			return list[i].Value
		}
	}
	return 0
}

func (b logged) play() *assertions.Evidence {
	lag := b.lag
	if lag == 0 {
		lag = 8 * signal.Millisecond
	}
	e := &assertions.Evidence{Trace: &trace.Trace{Tick: signal.Millisecond}, Policy: b.policy, CommandStep: 0.001}
	e.Steps = []assertions.Step{{Name: "replay", From: 200 * signal.Millisecond, To: loggedFor, Moving: true}}
	for t := signal.Time(0); t < loggedFor; t += signal.Millisecond {
		e.Trace.Column[trace.Speed] = append(e.Trace.Column[trace.Speed], b.moves(t).Speed)
	}
	random := rand.New(rand.NewPCG(11, b.seed))
	const ms = signal.Millisecond
	e.Trace.Sent[trace.SentSteer] = sentAt(10*ms, 1*ms, func(t signal.Time) float64 { return b.moves(t).Steer })
	e.Trace.Sent[trace.SentThrottle] = sentAt(10*ms, 3*ms, func(t signal.Time) float64 { return b.moves(t).Throttle })
	e.Trace.Sent[trace.SentGain] = sentAt(10*ms, 5*ms, func(t signal.Time) float64 { return b.moves(t).Gain })
	e.Trace.Sent[trace.SentYawRate] = sentAt(5*ms, 0, func(t signal.Time) float64 { return b.moves(t).YawRate + 0.1*deg*random.NormFloat64() })
	now := map[trace.SentTo]func(t signal.Time) float64{}
	for to := range trace.SentTos {
		list := e.Trace.Sent[to]
		i := 0
		now[to] = func(t signal.Time) float64 {
			for i+1 < len(list) && list[i+1].End <= t {
				i++
			}
			return heldAt(list[:i+1], t)
		}
	}
	for end := 100 * ms; end < loggedFor; end += 4 * ms {
		at := end - lag
		s := b.moves(at)
		s.Steer, s.Throttle, s.Gain, s.YawRate = now[trace.SentSteer](at), now[trace.SentThrottle](at), now[trace.SentGain](at), now[trace.SentYawRate](at)
		s.Demand = b.policy.Demand.YawRate(s.Speed, s.Steer)
		m := b.board(s, b.policy)
		for w := range m {
			e.Trace.Motor[w].Frames = append(e.Trace.Motor[w].Frames, trace.Frame{Start: end - ms, End: end, Value: math.Round(m[w]*1000) / 1000, Uncertainty: 0.0005})
		}
	}
	if b.change != nil {
		b.change(e)
	}
	return e
}

func (b logged) judge() []assertions.Result {
	if b.policy == nil {
		b.policy = policy()
	}
	return assertions.Judge(assertions.PolicyBranch{Of: "follows"}, b.play())
}

// cautious makes a board keep the cap with what it is to drive with.
func cautious(b board) board {
	return func(s assertions.Step, p *law.Policy) [4]float64 {
		if p.Cap != nil && math.Abs(s.Steer) > p.Cap.SteerAbove {
			s.Throttle = min(s.Throttle, p.Cap.Of)
		}
		return b(s, p)
	}
}

// careful is the good board that keeps the cap without a shift as well.
func careful(s assertions.Step, p *law.Policy) [4]float64 { return cautious(good)(s, p) }

func TestGoodBoardFollowsADrive(t *testing.T) {
	partner, plain, steer := policy(), policy(), policy()
	partner.AtTheLimit = law.LimitMovePartner
	plain.Floor, plain.AtTheLimit = nil, 0
	steer.TurnFrom = law.TurnFromSteer
	for name, p := range map[string]*law.Policy{"cap": policy(), "partner": partner, "at the limit not said": plain, "turn from steer": steer} {
		t.Run(name, func(t *testing.T) {
			results := logged{board: careful, policy: p, gain: 0.8}.judge()
			require.Len(t, results, 5)
			for _, r := range results {
				assert.Equal(t, assertions.Pass, r.Verdict, "%+v", r)
				if r.Must().Unit == "%" {
					assert.Greater(t, r.Must().Estimate, 99.0, "%+v", r)
					assert.Contains(t, r.Must().Quantity, "as declared")
				}
			}
		})
	}
}

// What no board should get away with on a drive.
func TestBadBoardsDoNotFollow(t *testing.T) {
	dull := func(s assertions.Step, p *law.Policy) [4]float64 { s.Gain = 0.3; return careful(s, p) }
	deaf := func(s assertions.Step, p *law.Policy) [4]float64 {
		s.Demand *= 0.75
		return careful(s, p)
	}
	for name, b := range map[string]logged{
		"idle": {board: idle}, "equal torque": {board: cautious(equal)}, "sides swapped": {board: cautious(crossed)}, "sign wrong": {board: cautious(backwards)},
		"shift too small": {board: dull}, "demand too small": {board: deaf}, "cap missing": {board: good},
		"late": {board: careful, lag: 150 * signal.Millisecond},
	} {
		t.Run(name, func(t *testing.T) {
			results := b.judge()
			assert.Equal(t, assertions.Fail, assertions.Worst(results), "%+v", results)
			for _, r := range results {
				if r.Verdict == assertions.Fail {
					assert.Contains(t, r.Why, "declared is")
					assert.NotZero(t, r.At)
				}
			}
		})
	}
	t.Run("silent", func(t *testing.T) {
		results := logged{board: careful, change: func(e *assertions.Evidence) { e.Trace.Motor[3].Frames = nil }}.judge()
		assert.Contains(t, byName(t, results, "follows: rear_right").Why, "sent no command")
		assert.Equal(t, assertions.Fail, assertions.Worst(results))
	})
}

// A calm drive shows nothing, for a board that shifts nothing does as well.
func TestCalmDriveShowsNothing(t *testing.T) {
	for name, b := range map[string]board{"good": careful, "equal torque": cautious(equal)} {
		results := logged{board: b, calm: true}.judge()
		assert.Equal(t, assertions.Undecided, assertions.Worst(results), name)
		assert.Contains(t, byName(t, results, "follows: a shift is asked for").Why, "livelier")
	}
}

func TestFollowsWithItsLimits(t *testing.T) {
	t.Run("as late as declared", func(t *testing.T) {
		p := policy()
		p.Response = &law.Response{AtMost: 60 * signal.Millisecond, Quantile: 0.95}
		b := logged{board: careful, policy: p, lag: 60 * signal.Millisecond}
		assert.Equal(t, assertions.Pass, assertions.Worst(b.judge()))
		p.Response.AtMost = 5 * signal.Millisecond
		assert.Equal(t, assertions.Fail, assertions.Worst(b.judge()))
	})
	t.Run("a frame of the slowest wire on top", func(t *testing.T) {
		for _, r := range (logged{board: careful, policy: policy(), lag: 29 * signal.Millisecond}).judge() {
			assert.Greater(t, r.Must().Estimate, 99.9, "20 ms and 10 ms of the receiver: %+v", r)
		}
	})
	t.Run("standing still", func(t *testing.T) {
		p := policy()
		p.Standstill = &law.Fade{From: 20, Full: 20}
		assert.Equal(t, assertions.Undecided, assertions.Worst(logged{board: cautious(equal), policy: p}.judge()), "nothing is ever asked for")
		assert.Equal(t, assertions.Fail, assertions.Worst(logged{board: careful, policy: p}.judge()))
	})
	t.Run("dead band", func(t *testing.T) {
		p := policy()
		p.DeadBand = new(20 * deg)
		assert.Equal(t, assertions.Pass, assertions.Worst(logged{board: cautious(banded(20*deg, true)), policy: p}.judge()), "counted from no error")
		excess := func(s assertions.Step, p *law.Policy) [4]float64 {
			yawError := s.Demand - s.YawRate
			if math.Abs(yawError) <= 20*deg {
				return cautious(equal)(s, p)
			}
			s.Gain *= (math.Abs(yawError) - 20*deg) / (40 * deg) / (math.Abs(yawError) / (60 * deg))
			return careful(s, p)
		}
		assert.Equal(t, assertions.Pass, assertions.Worst(logged{board: excess, policy: p}.judge()), "counted from the band's edge")
		assert.Equal(t, assertions.Fail, assertions.Worst(logged{board: cautious(banded(45*deg, true)), policy: p}.judge()))
	})
	t.Run("opposite lock without shift", func(t *testing.T) {
		p := policy()
		p.OppositeLock = law.OppositeLockNoShift
		straight := func(s assertions.Step, p *law.Policy) [4]float64 {
			if s.Demand*s.YawRate < 0 {
				return cautious(equal)(s, p)
			}
			return careful(s, p)
		}
		assert.Equal(t, assertions.Pass, assertions.Worst(logged{board: straight, policy: p}.judge()))
		p.OppositeLock = 0
		assert.Equal(t, assertions.Pass, assertions.Worst(logged{board: straight, policy: p}.judge()), "not said, not judged")
		p.OppositeLock = law.OppositeLockNoShift
		assert.Greater(t, assertions.Worst(logged{board: careful, policy: p}.judge()), assertions.Pass, "opposite lock is a small part of the drive")
	})
	t.Run("what the policy leaves out is not judged", func(t *testing.T) {
		p := policy()
		p.Oversteer, p.OppositeLock = nil, 0
		results := logged{board: careful, policy: p}.judge() // shifts nothing where nothing is declared
		assert.Equal(t, assertions.Pass, assertions.Worst(results), "%+v", results)
	})
}

func TestFollowsThatIsNotAsked(t *testing.T) {
	for name, change := range map[string]func(p *law.Policy){
		"demand":     func(p *law.Policy) { p.Demand = nil },
		"shift_at":   func(p *law.Policy) { p.ShiftAt = nil },
		"understeer": func(p *law.Policy) { p.Understeer, p.Oversteer = nil, nil },
	} {
		b := logged{board: careful, policy: policy()}
		e := b.play()
		change(e.Policy)
		results := assertions.Judge(assertions.PolicyBranch{Of: "follows"}, e)
		require.Len(t, results, 1, name)
		assert.Equal(t, assertions.NotAsked, results[0].Verdict)
		assert.Contains(t, results[0].Why, name)
	}
	// Where the curve could not be measured, the throttle itself does not stand in for it.
	e := logged{board: careful, policy: policy()}.play()
	e.Policy.ThrottleCurve, e.NoCurve = law.ThrottleCurveCalibrated, "no curve was measured"
	results := assertions.Judge(assertions.PolicyBranch{Of: "follows"}, e)
	require.Len(t, results, 1)
	assert.Equal(t, assertions.NotAsked, results[0].Verdict)
	assert.Equal(t, e.NoCurve, results[0].Why)
	for why, change := range map[string]func(e *assertions.Evidence){
		"faults":        func(e *assertions.Evidence) { e.Steps[0].Faults = []stimulus.Fault{{}} },
		"does not hold": func(e *assertions.Evidence) { e.Trace.Column[trace.Speed] = nil },
	} {
		results := logged{board: careful, change: change}.judge()
		assert.Equal(t, assertions.Undecided, assertions.Worst(results))
		assert.Contains(t, results[0].Why, why)
	}
	results = logged{board: careful, change: func(e *assertions.Evidence) { e.Trace.Motor[0].Frames[900].Value = math.NaN() }}.judge()
	assert.Contains(t, byName(t, results, "follows: front_left").Why, "no number")
	// Frames with a wrong checksum carry nothing.
	results = logged{board: careful, change: func(e *assertions.Evidence) {
		var mixed []trace.Sent
		for _, x := range e.Trace.Sent[trace.SentYawRate] {
			bad := x
			bad.Bad, bad.Value = true, -x.Value
			mixed = append(mixed, x, bad)
		}
		e.Trace.Sent[trace.SentYawRate] = mixed
	}}.judge()
	for _, r := range results {
		assert.Equal(t, assertions.Pass, r.Verdict, "%+v", r)
		assert.False(t, strings.Contains(r.Must().Quantity, "outside by 1"), r.Must().Quantity)
	}
}

// Columns stand in for wires whose pulses and frames are not listed.
func TestFollowsColumnsWithoutWires(t *testing.T) {
	b := logged{board: careful, policy: policy()}
	b.change = func(e *assertions.Evidence) {
		for i := range e.Trace.Column[trace.Speed] {
			m := b.moves(signal.Time(i) * signal.Millisecond)
			for c, x := range map[trace.Channel]float64{trace.Steer: m.Steer, trace.Throttle: m.Throttle, trace.Gain: m.Gain, trace.YawRate: m.YawRate} {
				e.Trace.Column[c] = append(e.Trace.Column[c], x)
			}
		}
		e.Trace.Sent = [trace.SentTos][]trace.Sent{}
	}
	results := b.judge()
	assert.Equal(t, assertions.Pass, assertions.Worst(results), "%+v", results)
}

func BenchmarkFollows(b *testing.B) {
	e := logged{board: careful, policy: policy()}.play()
	for b.Loop() {
		assertions.Judge(assertions.PolicyBranch{Of: "follows"}, e)
	}
}
