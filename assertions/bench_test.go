package assertions_test

import (
	"math"
	"math/rand/v2"
	"testing"

	"github.com/stretchr/testify/require"

	"hilrig/assertions"
	"hilrig/assertions/law"
	"hilrig/plant"
	"hilrig/rig/signal"
	"hilrig/rig/trace"
)

const deg = math.Pi / 180

// policy is an owner's policy with every key that these checks read. At 4 m/s with 8 deg of
// steering it demands 90 deg/s.
func policy() *law.Policy {
	return &law.Policy{
		Demand:       &law.Demand{Wheelbase: 0.33, UndersteerGradient: (4*8.0/90 - 0.33) / 16},
		TurnFrom:     law.TurnFromYawRate,
		OppositeLock: law.OppositeLockOversteer,
		Understeer:   &law.Split{Raise: []law.Corner{law.OutsideRear}, Lower: []law.Corner{law.InsideFront}},
		Oversteer:    &law.Split{Raise: []law.Corner{law.OutsideFront}, Lower: []law.Corner{law.OutsideRear}},
		ShiftAt:      &law.ShiftAt{Error: 60 * deg, Gain: 0.5, Is: 0.08, Within: 0.1},
		SumKept:      true,
		Cap:          &law.Cap{Of: 0.92, SteerAbove: 2 * deg},
		Floor:        new(0.0),
		AtTheLimit:   law.LimitCap,
		Standstill:   &law.Fade{From: 0.5, Full: 0.5},
		Reverse:      law.ReverseNoShift,
		Straight:     &law.Straight{Steer: &law.Fade{From: 1.5 * deg, Full: 3 * deg}},
		Braking:      law.BrakingNoShift,

		MotorsEqualWithin: new(0.01),
	}
}

// board says what the four motors are commanded to in a step.
type board func(s assertions.Step, p *law.Policy) [4]float64

// good is a board that does what the policy says.
func good(s assertions.Step, p *law.Policy) [4]float64 {
	m := equal(s, p)
	split, yawError := p.Understeer, s.Demand-s.YawRate
	if math.Abs(s.YawRate) > math.Abs(s.Demand) || s.Demand*s.YawRate < 0 {
		split = p.Oversteer
	}
	if split == nil || s.Speed < 0.5 || s.Throttle < 0 || math.Abs(s.Steer) < 1.5*deg {
		return m
	}
	size := 0.08 * math.Abs(yawError) / (60 * deg) * s.Gain / 0.5
	low, high := 0.0, 1.0
	if p.Floor != nil && s.Throttle >= *p.Floor {
		low = *p.Floor
	}
	if math.Abs(s.Steer) > 2*deg {
		high = 0.92
	}
	push := func(corners []law.Corner, by float64) {
		for _, c := range corners {
			w, _ := c.Wheel(s.Turn(p))
			m[w] = min(max(m[w]+by, low), high)
		}
	}
	up, down := size, size
	if p.AtTheLimit == law.LimitMovePartner {
		if s.Throttle+size > high {
			down *= 2
		}
		if s.Throttle-size < low {
			up *= 2
		}
	}
	push(split.Raise, up)
	push(split.Lower, -down)
	return m
}

// equal drives all four motors alike and shifts nothing.
func equal(s assertions.Step, p *law.Policy) [4]float64 {
	x := s.Throttle
	return [4]float64{x, x, x, x}
}

// idle never leaves idle.
func idle(assertions.Step, *law.Policy) [4]float64 { return [4]float64{} }

// crossed is the good board with its motor outputs swapped left for right.
func crossed(s assertions.Step, p *law.Policy) [4]float64 {
	m := good(s, p)
	return [4]float64{m[1], m[0], m[3], m[2]}
}

// backwards is the good board with the sign of its shift wrong.
func backwards(s assertions.Step, p *law.Policy) [4]float64 {
	m := good(s, p)
	for i := range m {
		m[i] = 2*s.Throttle - m[i]
	}
	return m
}

// times is the good board with its shift scaled.
func times(scale float64) board {
	return func(s assertions.Step, p *law.Policy) [4]float64 {
		m := good(s, p)
		for i := range m {
			m[i] = s.Throttle + scale*(m[i]-s.Throttle)
		}
		return m
	}
}

// bench plays steps to a board: each window is 400 ms long, and frames end
// every 5 ms with a normal spread.
type bench struct {
	board  board
	policy *law.Policy
	spread float64
	window signal.Time // 0: 400 ms
	seed   uint64
}

const every = 5 * signal.Millisecond

func (b bench) play(steps ...assertions.Step) *assertions.Evidence {
	if b.window == 0 {
		b.window = 400 * signal.Millisecond
	}
	random := rand.New(rand.NewPCG(3, 5+b.seed))
	e := &assertions.Evidence{Trace: &trace.Trace{Tick: signal.Millisecond}, Policy: b.policy, CommandStep: 0.001}
	for _, s := range steps {
		e.Lowest = min(e.Lowest, math.Copysign(math.Ceil(math.Abs(s.Throttle)), s.Throttle))
	}
	now := signal.Second
	for _, s := range steps {
		s.Applied, s.From = now, now+300*signal.Millisecond
		s.To = s.From + b.window
		e.Steps = append(e.Steps, s)
		m := b.board(s, b.policy)
		for end := now; end < s.To; end += every {
			for w := range m {
				e.Trace.Motor[w].Frames = append(e.Trace.Motor[w].Frames, trace.Frame{
					Start: end - signal.Millisecond, End: end, Uncertainty: 0.0005,
					Value: m[w] + b.spread*random.NormFloat64(),
				})
			}
		}
		now = s.To
	}
	return e
}

// onDemand is the baseline of a turn: the yaw rate is what is asked.
func onDemand(turn float64) assertions.Step {
	return assertions.Step{
		Name: "baseline", Baseline: true, Speed: 4, Throttle: 0.4, Gain: 0.5,
		Steer: 8 * deg * turn, YawRate: 90 * deg * turn, Demand: 90 * deg * turn,
	}
}

// held is a step whose yaw rate is a share of the demand.
func held(turn, share float64) assertions.Step {
	s := onDemand(turn)
	s.Name, s.Baseline, s.YawRate = "hold", false, share*s.Demand
	return s
}

// with changes a step.
func with(s assertions.Step, change func(*assertions.Step)) assertions.Step {
	change(&s)
	return s
}

// byName returns the result with that name.
func byName(t *testing.T, results []assertions.Result, name string) assertions.Result {
	t.Helper()
	var names []string
	for _, r := range results {
		if r.Name == name {
			return r
		}
		names = append(names, r.Name)
	}
	require.Contains(t, names, name)
	return assertions.Result{}
}

// spike makes one frame of a motor, in the step's window, something else.
func spike(e *assertions.Evidence, w plant.Wheel, s int, value float64) signal.Time {
	frames := e.Trace.Motor[w].Between(e.Steps[s].From, e.Steps[s].To)
	frames[len(frames)/2].Value = value
	return frames[len(frames)/2].End
}

// verdicts lists names with their verdicts.
func verdicts(results []assertions.Result) []string {
	var v []string
	for _, r := range results {
		v = append(v, r.Name+": "+string(r.Verdict))
	}
	return v
}
