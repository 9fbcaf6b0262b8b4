package assertions_test

import (
	"math"
	"math/rand/v2"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"hilrig/assertions"
	"hilrig/assertions/law"
	"hilrig/rig/signal"
	"hilrig/rig/trace"
)

// sweeping plays a slow sweep of the yaw rate to a board.
type sweeping struct {
	board  board
	policy *law.Policy
	demand func(speed, steer float64) float64 // rad/s, that the board works out; nil: the policy's
	lag    signal.Time
	spread float64 // of the commands
	turn   float64 // +1 left, -1 right; 0 is left
	on     bool    // the baseline has the yaw rate on demand instead of no gain
	back   bool    // from 150 % down and up again
	gain   float64 // of the sweep; 0: that of the others
	seed   uint64
}

const sweptFor = 8 * signal.Second

func (b sweeping) play() *assertions.Evidence {
	if b.turn == 0 {
		b.turn = 1
	}
	if b.demand == nil {
		b.demand = b.policy.Demand.YawRate
	}
	base := onDemand(b.turn)
	base.Demand = b.policy.Demand.YawRate(base.Speed, base.Steer)
	base.YawRate = base.Demand
	if !b.on {
		base.Gain = 0
	}
	sweep := onDemand(b.turn)
	sweep.Name, sweep.Baseline, sweep.Demand = "sweep", false, base.Demand
	sweep.Swept, sweep.Changed = true, trace.YawRate
	sweep.Levels = [2]float64{0.5 * base.Demand, 1.5 * base.Demand}
	if b.back {
		sweep.Levels = [2]float64{1.5 * base.Demand, 0.5 * base.Demand}
	}
	sweep.YawRate = sweep.Levels[0]
	if b.gain > 0 {
		sweep.Gain = b.gain
	}
	base.From, base.To = 0, signal.Second
	sweep.Applied, sweep.From, sweep.To = signal.Second, signal.Second, signal.Second+sweptFor

	e := &assertions.Evidence{Trace: &trace.Trace{Tick: signal.Millisecond}, Policy: b.policy, CommandStep: 0.001, Steps: []assertions.Step{base, sweep}}
	yaw := func(t signal.Time) float64 {
		if t < sweep.From {
			return base.YawRate
		}
		way := float64(t-sweep.From) / float64(sweptFor)
		return sweep.Levels[0] + (sweep.Levels[1]-sweep.Levels[0])*min(2*way, 2-2*way)
	}
	for t := signal.Time(0); t < sweep.To; t += signal.Millisecond {
		e.Trace.Column[trace.YawRate] = append(e.Trace.Column[trace.YawRate], yaw(t))
	}
	random := rand.New(rand.NewPCG(7, b.seed))
	for end := signal.Time(0); end < sweep.To; end += every {
		s := base
		if end >= sweep.From {
			s = sweep
		}
		s.YawRate = yaw(max(end-b.lag, 0))
		s.Demand = b.demand(s.Speed, s.Steer)
		m := b.board(s, b.policy)
		for w := range m {
			value := math.Round((m[w]+b.spread*random.NormFloat64())*1000) / 1000
			f := trace.Frame{Start: end - signal.Millisecond, End: end, Uncertainty: 0.0002, Value: value}
			e.Trace.Motor[w].Frames = append(e.Trace.Motor[w].Frames, f)
		}
	}
	return e
}

func (b sweeping) judge() []assertions.Result {
	return assertions.Judge(assertions.PolicyBranch{Of: "demand", Step: "sweep"}, b.play())
}

// sweepPolicy asks for the demand within 5 % and no dead band.
func sweepPolicy() *law.Policy {
	p := policy()
	p.Demand.Within, p.DeadBand = 0.05, new(0.0)
	return p
}

// banded is the good board that ignores a yaw error up to band, and shifts by what
// exceeds it, or with a jump.
func banded(band float64, jump bool) board {
	return func(s assertions.Step, p *law.Policy) [4]float64 {
		yawError := s.Demand - s.YawRate
		switch {
		case math.Abs(yawError) <= band:
			return equal(s, p)
		case !jump:
			s.YawRate += math.Copysign(band, yawError)
		}
		return good(s, p)
	}
}

// withoutSmall is a board that leaves out shifts smaller than so much.
func withoutSmall(b board, least float64) board {
	return func(s assertions.Step, p *law.Policy) [4]float64 {
		m, none := b(s, p), equal(s, p)
		for i := range m {
			if math.Abs(m[i]-none[i]) < least {
				m[i] = none[i]
			}
		}
		return m
	}
}

// Firmware may leave out shifts which by the policy count as none, and ignores small errors then, with a dead band or
// without. One that leaves out more has a dead band that is not declared.
func TestShiftsThatCountAsNoneMayBeLeftOutAboutADeadBand(t *testing.T) {
	for _, c := range []struct {
		declared float64 // deg/s
		board    board
		want     assertions.Verdict
	}{
		{0, withoutSmall(good, 0.01), assertions.Pass},
		{12, withoutSmall(banded(12*deg, false), 0.01), assertions.Pass},
		{0, withoutSmall(good, 0.02), assertions.Fail},
		{0, withoutSmall(banded(8*deg, false), 0.01), assertions.Fail},
	} {
		p := sweepPolicy()
		p.Demand.Within, p.DeadBand, p.DeadShift = 0.02, new(c.declared*deg), 0.01
		results := sweeping{board: c.board, policy: p, spread: 0.0005}.judge()
		assert.Equal(t, c.want, byName(t, results, "demand: dead band").Verdict, "%v: %+v", c.declared, results)
	}
}

// A shift that saturates comes down to none, by a line through what is seen of it, beyond the demand. That is no dead band.
func TestAShiftThatBendsHasNoBandBelowNothing(t *testing.T) {
	p := sweepPolicy()
	p.Demand.Within, p.ShiftAt.Grows, p.ShiftAt.Most = 0.01, law.GrowthSaturating, 0.1
	bends := func(s assertions.Step, p *law.Policy) [4]float64 {
		m, none := good(s, p), equal(s, p)
		for i := range m {
			by := m[i] - none[i]
			m[i] = none[i] + by/(1+math.Abs(by)/p.ShiftAt.Most)
		}
		return m
	}
	r := byName(t, sweeping{board: bends, policy: p, gain: 1, spread: 0.0005}.judge(), "demand: dead band")
	assert.Equal(t, assertions.Pass, r.Verdict, "%+v", r)
	assert.Less(t, r.Must().High, -0.01*90.0, "that is read beyond what the demand may be out by")
}

func TestSweepFindsTheBoardsDemand(t *testing.T) {
	other := sweepPolicy()
	other.Understeer = &law.Split{Raise: []law.Corner{law.OutsideFront}, Lower: []law.Corner{law.InsideFront}}
	other.Oversteer = &law.Split{Raise: []law.Corner{law.InsideFront}, Lower: []law.Corner{law.OutsideFront}}
	lone := sweepPolicy()
	lone.Understeer = &law.Split{Lower: []law.Corner{law.InsideRear}}
	lone.Oversteer = &law.Split{Lower: []law.Corner{law.OutsideRear, law.OutsideFront}}
	tests := []struct {
		name string
		sweeping
	}{
		{"clean", sweeping{board: good}},
		{"spread", sweeping{board: good, spread: 0.004}},
		{"late", sweeping{board: good, lag: 60 * signal.Millisecond}},
		{"to the right", sweeping{board: good, lag: 20 * signal.Millisecond, turn: -1}},
		{"down first", sweeping{board: good, lag: 20 * signal.Millisecond, back: true}},
		{"baseline on demand", sweeping{board: good, on: true}},
		{"front axle only", sweeping{board: good, policy: other}},
		{"only brakes", sweeping{board: good, policy: lone}},
		{"held at some most", sweeping{board: func(s assertions.Step, p *law.Policy) [4]float64 {
			s.YawRate = s.Demand - min(max(s.Demand-s.YawRate, -25*deg), 25*deg)
			return good(s, p)
		}}},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			if tt.policy == nil {
				tt.policy = sweepPolicy()
			}
			results := tt.judge()
			require.Len(t, results, 2, "%+v", results)
			want := tt.policy.Demand.YawRate(4, 8*deg*map[bool]float64{true: -1, false: 1}[tt.turn < 0]) / deg
			r := byName(t, results, "demand: yaw rate")
			assert.Equal(t, assertions.Pass, r.Verdict, "%+v", r)
			assert.InDelta(t, want, r.Must().Estimate, 0.012*math.Abs(want))
			assert.LessOrEqual(t, r.Must().Low, want, "%+v", r)
			assert.GreaterOrEqual(t, r.Must().High, want, "%+v", r)
			assert.Less(t, r.Must().High-r.Must().Low, 5.0)
			assert.Equal(t, "deg/s", r.Must().Unit)
			r = byName(t, results, "demand: dead band")
			assert.Equal(t, assertions.Pass, r.Verdict, "%+v", r)
		})
	}
}

// What makes a demand wrong, and how far off it is found.
func TestSweepFailsAWrongDemand(t *testing.T) {
	of := func(change func(d *law.Demand, v, steer *float64)) func(v, steer float64) float64 {
		return func(v, steer float64) float64 {
			d := *policy().Demand
			change(&d, &v, &steer)
			return d.YawRate(v, steer)
		}
	}
	tests := []struct {
		name   string
		demand func(v, steer float64) float64
		found  bool // within the sweep
		why    string
	}{
		{"wheelbase too long", of(func(d *law.Demand, _, _ *float64) { d.Wheelbase = 0.4 }), true, "wheelbase"},
		{"wheelbase too short", of(func(d *law.Demand, _, _ *float64) { d.Wheelbase = 0.29 }), true, "wheelbase"},
		{"understeer gradient left out", of(func(d *law.Demand, _, _ *float64) { d.UndersteerGradient = 0 }), true, "understeer gradient left out"},
		{"dead encoder", of(func(_ *law.Demand, v, _ *float64) { *v *= 0.75 }), true, "encoder that does not count"},
		{"steering table 15 % short", of(func(_ *law.Demand, _, s *float64) { *s *= 0.85 }), true, "steering table"},
		{"encoder backwards", of(func(_ *law.Demand, v, _ *float64) { *v *= 0.5 }), false, "already at a yaw rate"},
		{"degrees for radians", of(func(_ *law.Demand, _, s *float64) { *s /= deg }), false, "still shifts as for understeer"},
		{"radians for degrees", of(func(_ *law.Demand, _, s *float64) { *s *= deg }), false, "already at a yaw rate"},
		{"just past the sweep", of(func(d *law.Demand, _, s *float64) { *s *= 1.5 }), false, "still shifts as for understeer"},
	}
	for _, tt := range tests {
		for _, on := range []bool{false, true} {
			t.Run(tt.name+map[bool]string{true: ", baseline on demand"}[on], func(t *testing.T) {
				b := sweeping{board: good, policy: sweepPolicy(), demand: tt.demand, on: on, lag: 10 * signal.Millisecond, spread: 0.001}
				r := byName(t, b.judge(), "demand: yaw rate")
				assert.Equal(t, assertions.Fail, r.Verdict, "%+v", r)
				assert.Contains(t, r.Why, tt.why)
				if tt.found {
					assert.InEpsilon(t, tt.demand(4, 8*deg)/deg, r.Must().Estimate, 0.01)
				}
			})
		}
	}
}

func TestSweepFindsTheDeadBand(t *testing.T) {
	for _, jump := range []bool{false, true} {
		b := sweeping{board: banded(15*deg, jump), policy: sweepPolicy(), lag: 10 * signal.Millisecond, spread: 0.0005}
		results := b.judge()
		assert.Equal(t, assertions.Pass, byName(t, results, "demand: yaw rate").Verdict, "%+v", results)
		r := byName(t, results, "demand: dead band")
		assert.Equal(t, assertions.Fail, r.Verdict, "15 deg/s instead of none")
		assert.InDelta(t, 15, r.Must().Estimate, 0.5, "jump %v", jump)
		*b.policy.DeadBand = 15 * deg
		r = byName(t, b.judge(), "demand: dead band")
		assert.Equal(t, assertions.Pass, r.Verdict, "%+v", r)
		b.policy.DeadBand = nil
		assert.Len(t, b.judge(), 1, "not asked")
	}
}

// A firmware whose smallest shifts are none sets in with a jump on either side; read as a jump on one and drawn down to
// none on the other, the middle would lie half of the way off.
func TestSweepReadsBothSidesAlike(t *testing.T) {
	for under := 4.0; under < 9; under += 0.5 {
		for _, over := range []float64{0.85 * under, under, under / 0.85} {
			b := sweeping{policy: sweepPolicy(), lag: 10 * signal.Millisecond, spread: 0.0005, board: func(s assertions.Step, p *law.Policy) [4]float64 {
				if e := s.Demand - s.YawRate; e > -over*deg && e < under*deg {
					return equal(s, p)
				}
				return good(s, p)
			}}
			r := byName(t, b.judge(), "demand: yaw rate")
			assert.InDelta(t, b.policy.Demand.YawRate(4, 8*deg)/deg, r.Must().Estimate, 1, "from %v and %v deg/s on", under, over)
		}
	}
}

// ofOneSize shifts by the same at every error, and gathering by what gathered while it lasted, up to a bound.
func ofOneSize(s assertions.Step, p *law.Policy) [4]float64 {
	s.YawRate = s.Demand - math.Copysign(30*deg, s.Demand-s.YawRate)
	return good(s, p)
}

func gathering(perSecond, most float64) board {
	gathered := 0.0 // deg/s of error that shift as much
	return func(s assertions.Step, p *law.Policy) [4]float64 {
		if s.Gain == 0 {
			gathered = 0
		}
		gathered = min(max(gathered+perSecond*every.Seconds()*(s.Demand-s.YawRate), -most), most)
		s.YawRate = s.Demand - gathered
		return good(s, p)
	}
}

// Of a shift of no declared size the demand is read off where it changes its sense, be it ever so level beyond.
func TestSweepOfAShiftOfOneSize(t *testing.T) {
	for seed := range uint64(10) {
		b := sweeping{board: ofOneSize, policy: sweepPolicy(), lag: 10 * signal.Millisecond, spread: 0.002, seed: seed}
		b.policy.ShiftAt, b.policy.DeadBand = nil, nil
		want := b.policy.Demand.YawRate(4, 8*deg)
		for _, off := range []float64{1, 0.9, 1.1} {
			b.demand = func(float64, float64) float64 { return off * want }
			r := b.judge()[0]
			assert.InDelta(t, off*want/deg, r.Must().Estimate, 0.5)
			assert.Less(t, r.Must().High-r.Must().Low, 2.0)
			assert.Equal(t, map[bool]assertions.Verdict{true: assertions.Pass, false: assertions.Fail}[off == 1], r.Verdict, "%+v", r)
		}
	}
}

// A shift that gathers changes its sense after the error has, and the policy that has no size leaves that open: the demand
// lies between where it does on both ways.
func TestSweepOfAShiftThatGathersUndeclared(t *testing.T) {
	for perSecond, most := range map[float64]float64{1: 15 * deg, 3: 20 * deg, 10: 40 * deg} {
		b := sweeping{policy: sweepPolicy(), spread: 0.0005, board: gathering(perSecond, most)}
		b.policy.ShiftAt, b.policy.DeadBand = nil, nil
		r := b.judge()[0]
		assert.Equal(t, assertions.Pass, r.Verdict, "%v: %+v", perSecond, r)
		assert.Contains(t, r.Name, "gathers")
		if perSecond > 3 {
			continue // it is so soon there that it changes its sense as one that does not gather
		}
		m, _ := r.Measurement()
		assert.Less(t, m.Limit.Low, 0.94*90, "%v: the demand may lie anywhere between the two changes of the sense, besides within the 5 %% of the policy", perSecond)
		assert.Greater(t, m.Limit.High, 1.06*90)
	}
	b := sweeping{policy: sweepPolicy(), spread: 0.0005, board: gathering(10, 20*deg)}
	b.policy.ShiftAt, b.policy.DeadBand = nil, nil
	b.demand = func(speed, steer float64) float64 { return 1.3 * b.policy.Demand.YawRate(speed, steer) }
	r := b.judge()[0]
	assert.Equal(t, assertions.Fail, r.Verdict, "%+v", r)
	late := sweeping{policy: sweepPolicy(), board: good, lag: 60 * signal.Millisecond}
	late.policy.ShiftAt = nil
	late.demand = func(speed, steer float64) float64 { return 1.1 * late.policy.Demand.YawRate(speed, steer) }
	assert.Equal(t, assertions.Fail, late.judge()[0].Verdict, "one that follows at once is held as closely as ever")
}

// Where motors come to a limit near the ends of the sweep, and then move less and less, the demand is found from the rest.
func TestSweepWithMotorsAtALimitNearItsEnds(t *testing.T) {
	b := sweeping{policy: sweepPolicy(), lag: 10 * signal.Millisecond, spread: 0.0005, board: func(s assertions.Step, p *law.Policy) [4]float64 {
		if e := s.Demand - s.YawRate; math.Abs(e) > 34*deg {
			s.YawRate = s.Demand - math.Copysign(max(0, 34*deg-8*(math.Abs(e)-34*deg)), e)
		}
		return good(s, p)
	}}
	r := byName(t, b.judge(), "demand: yaw rate")
	assert.Equal(t, assertions.Pass, r.Verdict, "%+v", r)
}

// At 90 deg/s of demand, known to 5 %, a board may be out by 4.5 deg/s. 8 % at 60 deg/s and half the gain are 0.133 % for
// each deg/s: a step of 0.7 % stands for 5.25 deg/s, one of 1 % for 7.5, and at the whole gain for half of that.
func TestASweepIsNotAskedWhereOneStepIsMoreThanTheDemandMayBeOutBy(t *testing.T) {
	for _, tt := range []struct {
		resolution, gain float64
		asked            bool
	}{{0.007, 0.5, true}, {0.01, 0.5, false}, {0.01, 1, true}} {
		p := sweepPolicy()
		p.Resolution, p.Demand.Within = new(tt.resolution), 0.05
		e := sweeping{board: good, policy: p, gain: tt.gain}.play()
		e.Trace = nil
		planned := assertions.Plan(assertions.PolicyBranch{Of: "demand", Step: "sweep"}, e)
		assert.Equal(t, tt.asked, planned[0].Asked, "%+v: %+v", tt, planned[0])
		if !tt.asked {
			assert.Contains(t, planned[0].Why, "one step of the commands, 1 % of range by the policy's resolution, stands for a yaw error of 7.5")
		}
	}
}

// What the format of the motor line leaves open is left open of the demand.
func TestSweepReadInCoarseSteps(t *testing.T) {
	width := func(step float64) float64 {
		e := sweeping{board: good, policy: sweepPolicy()}.play()
		e.CommandStep = step
		r := byName(t, assertions.Judge(assertions.PolicyBranch{Of: "demand"}, e), "demand: yaw rate")
		return r.Must().High - r.Must().Low
	}
	// One part in 300 of 8 % for 60 deg/s, rectangular, on a contrast of three motors.
	assert.Greater(t, width(1.0/300), 2.0)
	assert.Less(t, width(1.0/1000), 1.5)
}

// Motors that are not quite alike do not move the demand, counted from a baseline
// with the gain at zero.
func TestSweepOfUnequalMotors(t *testing.T) {
	weak := func(s assertions.Step, p *law.Policy) [4]float64 {
		m := good(s, p)
		m[1] *= 0.97
		return m
	}
	results := sweeping{board: weak, policy: sweepPolicy()}.judge()
	assert.InDelta(t, policy().Demand.YawRate(4, 8*deg)/deg, byName(t, results, "demand: yaw rate").Must().Estimate, 0.5)
}

// Its interval holds the truth: noisy boards of many kinds.
func TestSweepHoldsTheTruth(t *testing.T) {
	plays, held, none := 60, 0, 0
	for i := range plays {
		b := sweeping{board: good, policy: sweepPolicy(), spread: 0.004, lag: signal.Time(i) * signal.Millisecond, seed: uint64(i)}
		results := b.judge()
		r := byName(t, results, "demand: yaw rate")
		want := b.policy.Demand.YawRate(4, 8*deg) / deg
		if r.Must().Low <= want && want <= r.Must().High {
			held++
		}
		band := byName(t, results, "demand: dead band")
		if band.Must().Low <= 0 && 0 <= band.Must().High {
			none++
		}
		assert.InEpsilon(t, r.Must().High-r.Must().Low, band.Must().High-band.Must().Low, 0.01, "the same four edges, known alike")
	}
	assert.GreaterOrEqual(t, held, plays*9/10)
	assert.GreaterOrEqual(t, none, plays*9/10)
}

func TestSweepOfBoardsThatDoNothing(t *testing.T) {
	random := func(seed uint64) board {
		r := rand.New(rand.NewPCG(seed, 1))
		return func(assertions.Step, *law.Policy) [4]float64 {
			return [4]float64{r.Float64(), r.Float64(), r.Float64(), r.Float64()}
		}
	}
	for name, b := range map[string]board{"idle": idle, "equal": equal, "backwards": backwards, "random": random(1)} {
		t.Run(name, func(t *testing.T) {
			results := sweeping{board: b, policy: sweepPolicy()}.judge()
			want := assertions.Fail
			if name == "random" {
				want = assertions.Undecided
			}
			assert.Equal(t, want, assertions.Worst(results), "%+v", results)
			assert.NotEmpty(t, results[0].Why)
		})
	}
	for _, missing := range []string{"oversteer", "understeer"} {
		half := func(s assertions.Step, p *law.Policy) [4]float64 {
			if (s.YawRate > s.Demand) == (missing == "oversteer") {
				return equal(s, p)
			}
			return good(s, p)
		}
		results := sweeping{board: half, policy: sweepPolicy()}.judge()
		assert.Equal(t, assertions.Fail, assertions.Worst(results), "%+v", results)
		assert.Contains(t, results[0].Why, "nothing is shifted as for "+missing)
	}
	e := sweeping{board: good, policy: sweepPolicy()}.play()
	e.Trace.Motor[1].Frames = nil
	results := assertions.Judge(assertions.PolicyBranch{Of: "demand"}, e)
	assert.Equal(t, assertions.Fail, assertions.Worst(results))
	assert.Contains(t, results[0].Why, "sent no command")
}

func TestSweepThatShowsNothing(t *testing.T) {
	tests := []struct {
		name    string
		change  func(e *assertions.Evidence)
		verdict assertions.Verdict
		why     string
	}{
		{"no sweep", func(e *assertions.Evidence) { e.Steps[1].Swept = false }, assertions.Undecided, "give it sweep"},
		{"another channel", func(e *assertions.Evidence) { e.Steps[1].Changed = trace.Steer }, assertions.Undecided, "give it sweep"},
		{"straight ahead", func(e *assertions.Evidence) { e.Steps[1].Steer = 0 }, assertions.Undecided, "steer, and drive"},
		{"beside the demand", func(e *assertions.Evidence) { e.Steps[1].Levels[1] = 1.05 * e.Steps[1].Demand }, assertions.Undecided, "both sides"},
		{"no yaw rate in the trace", func(e *assertions.Evidence) { e.Trace.Column[trace.YawRate] = nil }, assertions.Undecided, "does not hold"},
		{"too short", func(e *assertions.Evidence) { e.Steps[1].To = e.Steps[1].From + 300*signal.Millisecond }, assertions.Undecided, "more slowly"},
		{"one way only", func(e *assertions.Evidence) { e.Steps[1].To = e.Steps[1].From + sweptFor/2 }, assertions.Undecided, "there and back"},
		{"no oversteer", func(e *assertions.Evidence) { e.Policy.Oversteer = nil }, assertions.NotAsked, "both"},
		{"no demand", func(e *assertions.Evidence) { e.Policy.Demand = nil }, assertions.NotAsked, "demand"},
		{"no tolerance", func(e *assertions.Evidence) { e.Policy.Demand.Within = 0 }, assertions.NotAsked, "within"},
		{"both branches alike", func(e *assertions.Evidence) { e.Policy.Oversteer = e.Policy.Understeer }, assertions.NotAsked, "the same way"},
		{"not a number", func(e *assertions.Evidence) { e.Trace.Motor[1].Frames[500].Value = math.NaN() }, assertions.Undecided, "finite"},
		{"hardly shifts", func(e *assertions.Evidence) { e.Policy.ShiftAt, e.Policy.DeadShift = nil, 0.06 }, assertions.Fail, "never moved"},
		{"reaches one side only", func(e *assertions.Evidence) { e.Policy.DeadShift = 0.055 }, assertions.NotAsked, "either end"},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			e := sweeping{board: good, policy: sweepPolicy()}.play()
			tt.change(e)
			results := assertions.Judge(assertions.PolicyBranch{Of: "demand", Step: "sweep"}, e)
			assert.Equal(t, tt.verdict, results[0].Verdict, "%+v", results[0])
			assert.Contains(t, results[0].Why, tt.why)
		})
	}
}
