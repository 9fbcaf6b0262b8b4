package compare

import (
	"bytes"
	"fmt"
	"math"
	"math/rand/v2"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"hilrig/plant"
	"hilrig/rig/trace"
	"hilrig/stimulus"
	"hilrig/suites/record"
)

// shift is a passed check of a shift in %, known to a standard uncertainty of 0.01 % by each part.
func shift(estimate float64) record.Check {
	u := math.Hypot(0.01, 0.01)
	return record.Check{
		Name: "understeer: outside_rear raised", Verdict: record.Pass, Step: "hold", Quantity: "shift of outside_rear (rear_right)", Unit: "%",
		Estimate: record.Number(estimate), Low: record.Number(estimate - 2*u), High: record.Number(estimate + 2*u),
		LimitLow: record.Number(1), LimitHigh: record.Number(40), Statistics: record.Number(0.01), Instrument: record.Number(0.01),
	}
}

// loop is a loop rate in Hz, known to ±0.1 Hz.
func loop(hz float64) record.Check {
	return record.Check{
		Name: "loop rate", Verdict: record.Pass, Step: "hold", Quantity: "loop rate, by motor_rear_right", Unit: "Hz",
		Estimate: record.Number(hz), Low: record.Number(hz - 0.1), High: record.Number(hz + 0.1), LimitLow: record.Number(200),
	}
}

// response is of 200 trials of a board whose answers take from to from+1.5 turns, ms.
func response(from, turn float64, seed uint64) record.Check {
	random := rand.New(rand.NewPCG(seed, 3))
	k := record.Check{Name: "response", Verdict: record.Pass, Step: "hold", Quantity: "response of rear_right, 95 % of 200 trials", Unit: "ms", LimitHigh: record.Number(12)}
	for range 200 {
		k.Samples = append(k.Samples, from+turn*random.Float64()+turn/2*random.Float64())
	}
	k.Samples = record.Samples(k.Samples)
	k.Estimate, k.Low, k.High = record.Number(from+1.275*turn), record.Number(from+1.2*turn), record.Number(from+1.35*turn)
	return k
}

// lost is a time until there is no shift, in ms.
func lost(ms float64) record.Check {
	return record.Check{
		Name: "yaw lost: no shift within 100 ms", Verdict: record.Pass, Step: "lost", Quantity: "time until there is no shift", Unit: "ms",
		Estimate: record.Number(ms), Low: record.Number(ms - 1.5), High: record.Number(ms + 1.5), LimitHigh: record.Number(100),
	}
}

// with returns a check with something changed.
func with(k record.Check, change func(k *record.Check)) record.Check {
	change(&k)
	return k
}

// run is a whole record of one suite, each check in a case of its own.
func run(seed uint64, checks ...record.Check) *Run {
	s := record.Suite{Name: "one", File: "one.yaml"}
	for i, k := range checks {
		s.Cases = append(s.Cases, record.Case{Name: fmt.Sprint("case ", i), Checks: []record.Check{k}})
	}
	r := &record.Result{Seed: seed, Car: record.Source{Name: "bramble", Digest: "aa"}, Bench: record.Source{Name: "bench", Digest: "bb"}, Board: record.Source{Name: "built-in"}, Suites: []record.Suite{s}}
	r.Seal()
	return &Run{
		Record: &record.Record{Result: r, Ended: true},
		Inputs: []record.Input{{Role: record.SuiteInput, Path: "one.yaml", Data: []byte("suite: one")}},
		Alongs: map[Place]*record.Along{},
	}
}

// nothingRead is of a board that reads no pulses.
var nothingRead = &Known{Reading: func(Place, string) Reading { return Reading{} }}

func TestKinds(t *testing.T) {
	failing := func(k *record.Check) { k.Verdict = record.Fail }
	open := func(k *record.Check) { k.Verdict = record.Undecided }
	tests := []struct {
		name          string
		before, after record.Check
		want          Kind
		exit          int
	}{
		{"the same", shift(8), shift(8), Same, 0},
		{"within what both leave open", shift(8), shift(8.05), Same, 0}, // 2.33 deviations at 1 % of one comparison would do, half of it 2.8: 0.056
		{"beyond it, away from the limit", shift(8), shift(8.2), Better, 0},
		{"beyond it, towards the limit", shift(8), shift(7.8), Worse, 1},
		{"towards the upper limit", shift(39), shift(39.5), Worse, 1},
		{"without a limit", with(shift(8), func(k *record.Check) { k.LimitLow, k.LimitHigh = nil, nil }), with(shift(9), func(k *record.Check) { k.LimitLow, k.LimitHigh = nil, nil }), Different, 0},
		{"fails now", shift(8), with(shift(0.5), failing), NewlyFailing, 1},
		{"was open and fails", with(shift(1), open), with(shift(0.5), failing), NewlyFailing, 1},
		{"passes now", with(shift(0.5), failing), shift(8), PassesNow, 0},
		{"fails by more", with(shift(0.5), failing), with(shift(0.1), failing), Worse, 1},
		{"left open now", shift(8), with(shift(1), open), NoLongerJudged, 2},
		{"judged now", with(shift(1), open), shift(8), JudgedNow, 0},
		{"open in both", with(shift(1), open), with(shift(5), open), Same, 0},
		{"another unit", shift(8), with(shift(8), func(k *record.Check) { k.Unit = "deg/s" }), NotComparable, 2},
		{"a slower loop", loop(250), loop(245), Worse, 1},
		{"a loop as fast", loop(250), loop(250.1), Same, 0},
		{"an event within the phase of what the policy allows", lost(60), lost(72), Same, 0},
		{"an event beyond it", lost(60), lost(90), Worse, 1},
	}
	for _, test := range tests {
		t.Run(test.name, func(t *testing.T) {
			known := *nothingRead
			known.Response = 12
			c := Of(run(1, test.before), run(2, test.after), &known)
			assert.Equal(t, 1, c.Counts[test.want], "%+v", c)
			assert.Equal(t, test.exit, c.Exit())
		})
	}
}

// What a pulse is read as is an offset that either run may have.
func TestReadingWidensWhatMayBeChance(t *testing.T) {
	a, b := run(1, shift(8)), run(2, shift(7.8))
	assert.Equal(t, 1, Of(a, b, &Known{Reading: func(Place, string) Reading { return Reading{Shift: 0.002} }}).Counts[Same])
	assert.Equal(t, 1, Of(a, b, &Known{}).Counts[Same], "nothing is known: 3 % of the shift")
	assert.Equal(t, 1, Of(a, b, nothingRead).Counts[Worse])
}

// many returns shifts of so many cases, each times a factor.
func many(n int, factor float64) (all []record.Check) {
	for i := range n {
		all = append(all, shift((7+0.1*float64(i))*factor))
	}
	return all
}

// demands returns demanded yaw rates in deg/s, each larger by a share that goes up with it.
func demands(n int, by float64) (all []record.Check) {
	for i := range n {
		x := 30 + float64(i)
		k := shift(x * (1 + by*x/20))
		k.Name, k.Quantity, k.Unit, k.LimitLow, k.LimitHigh = "demand: yaw rate", "yaw rate that the board takes as demanded", "deg/s", record.Number(x*0.9), record.Number(x*1.1)
		all = append(all, k)
	}
	return all
}

func TestCausesAreNamedWithWhatFollows(t *testing.T) {
	tests := []struct {
		name          string
		before, after []record.Check
		want          string // causes
		follow, alone int
	}{
		{"nothing", many(20, 1), many(20, 1), "[]", 0, 0},
		{"a larger shift", many(20, 1), many(20, 1.03), "[shift]", 20, 0},
		{"a shift that grows by less than the steps of the commands tell", many(20, 1), many(20, 1.0005), "[]", 0, 0},
		{"too few shifts for what they share", many(5, 1), many(5, 1.03), "[]", 0, 5},
		{"a larger demand, by more where it is larger, with its shifts", append(demands(12, 0), shift(8)), append(demands(12, 0.02), shift(9)), "[demand]", 13, 0},
		{"half of the shifts gone", many(20, 1), append(many(10, 1), many(20, 0)[10:]...), "[]", 0, 10},
		{"one shift that does not go with the others", append(many(20, 1), shift(8)), append(many(20, 1.03), shift(6)), "[shift]", 20, 1},
		{"a slower loop, with responses and losses", []record.Check{loop(250), response(2, 4, 1), lost(60)}, []record.Check{loop(200), response(4.5, 5, 2), lost(62)}, "[loop rate]", 2, 0},
		{"a slower loop does not make responses sooner", []record.Check{loop(250), response(9, 4, 1)}, []record.Check{loop(200), response(2, 4, 2)}, "[loop rate response]", 2, 0},
		{"later responses", []record.Check{loop(250), response(2, 4, 1), response(2, 4, 2)}, []record.Check{loop(250), response(3, 4, 3), response(3, 4, 4)}, "[response]", 2, 0},
	}
	for _, test := range tests {
		t.Run(test.name, func(t *testing.T) {
			c := Of(run(1, test.before...), run(1, test.after...), nothingRead)
			assert.Equal(t, test.want, fmt.Sprint(c.Names()))
			follow, alone := 0, 0
			for _, x := range c.Changes {
				if x.Check == "response" {
					assert.Equal(t, c.Names()[len(c.Names())-1], x.Follows)
				}
				if x.Follows != "" {
					follow++
				} else {
					alone++
				}
			}
			assert.Equal(t, test.follow, follow, "%+v", c.Changes)
			assert.Equal(t, test.alone, alone, "%+v", c.Changes)
		})
	}
}

// Under another seed a board's loop and output may stand otherwise to each other all through.
func TestResponsesUnderAnotherSeedMayAllBeLater(t *testing.T) {
	before, after := []record.Check{loop(250), response(2, 4, 1)}, []record.Check{loop(250), response(2.9, 4, 2)}
	assert.Equal(t, 1, Of(run(1, before...), run(1, after...), nothingRead).Counts[Worse])
	assert.Equal(t, 0, Of(run(1, before...), run(2, after...), nothingRead).Counts[Worse])
	after[1] = response(5, 4, 2)
	assert.Equal(t, 1, Of(run(1, before...), run(2, after...), nothingRead).Counts[Worse])
}

// One board whose means spread as they say is told from itself in fewer than one comparison of a hundred.
func TestTheLevelIsThatOfTheWhole(t *testing.T) {
	random := rand.New(rand.NewPCG(4, 5))
	draw := func() (all []record.Check) {
		for i := range 100 {
			all = append(all, shift(7+0.1*float64(i%20)+0.01*math.Sqrt2*random.NormFloat64()))
		}
		return all
	}
	told := 0
	const trials = 200
	for range trials {
		if c := Of(run(1, draw()...), run(2, draw()...), nothingRead); len(c.Changes)+len(c.Causes) > 0 {
			told++
		}
	}
	t.Logf("%d of %d told", told, trials)
	assert.LessOrEqual(t, told, 5)
}

// Of loop rates whose estimates spread as their intervals say, one board is told from itself in fewer than one comparison
// of a hundred, and a loop that is 2 % slower is told each time, by its name and nothing else.
func TestLoopRatesAreComparedByTheirIntervals(t *testing.T) {
	random := rand.New(rand.NewPCG(6, 7))
	const half = 1.0 // Hz, of 99 %: ten times as wide as on the demo board
	drawn := func(hz float64) record.Check {
		k := loop(hz + half/bothWithin99*random.NormFloat64())
		k.Low, k.High = record.Number(*k.Estimate-half), record.Number(*k.Estimate+half)
		return k
	}
	told, slower := 0, 0
	const trials = 2000
	for range trials {
		if c := Of(run(1, drawn(250)), run(2, drawn(250)), nothingRead); len(c.Changes)+len(c.Causes) > 0 {
			told++
		}
		if c := Of(run(1, drawn(250)), run(2, drawn(245)), nothingRead); len(c.Causes) == 1 && c.Causes[0].Name == "loop rate" && c.Causes[0].Follows == len(c.Changes) {
			slower++
		}
	}
	t.Logf("%d of %d told, a slower one %d times", told, trials, slower)
	assert.LessOrEqual(t, told, trials/100)
	assert.Positive(t, told, "the level is not used up at all")
	assert.Equal(t, trials, slower)
}

func TestWhatChangedBesideTheBoardIsSaidAndNotCompared(t *testing.T) {
	for _, test := range []struct {
		name   string
		change func(r *Run)
		want   string
	}{
		{"car", func(r *Run) { r.Record.Result.Car.Digest = "cc" }, "the car changed: bramble (aa) before, bramble (cc) after"},
		{"bench", func(r *Run) { r.Record.Result.Bench.Digest = "cc" }, "the bench changed: bench (bb) before, bench (cc) after"},
		{"suite", func(r *Run) { r.Inputs[0].Data = []byte("suite: one # mended") }, `suite "one" changed: its file one.yaml is not the same`},
		{"no file", func(r *Run) { r.Inputs = nil }, `suite "one": its file one.yaml is not kept in both records`},
	} {
		t.Run(test.name, func(t *testing.T) {
			before, after := run(1, shift(8)), run(1, shift(2))
			test.change(after)
			c := Of(before, after, nothingRead)
			assert.Equal(t, []string{test.want}, c.Changed)
			assert.Empty(t, c.Changes)
			assert.Equal(t, 2, c.Exit())
			assert.Equal(t, []string{test.want}, Changed(before, after))
			assert.False(t, SamePlan(before, after))
		})
	}
	assert.True(t, SamePlan(run(1, shift(8)), run(2, shift(2))))
	assert.Empty(t, Changed(run(1, shift(8)), run(2, shift(2))))
}

// Cases that one record alone has are judged no longer, or now; and a check that found its worst in
// another step is the same check.
func TestMatching(t *testing.T) {
	before, after := run(1, shift(8), shift(9)), run(2, shift(8))
	c := Of(before, after, nothingRead)
	assert.Equal(t, 1, c.Counts[NoLongerJudged])
	assert.Equal(t, notPlayed, c.Changes[0].VerdictAfter)
	assert.Equal(t, 2, c.Exit())
	assert.Equal(t, 1, Of(after, before, nothingRead).Counts[JudgedNow])

	moved := run(2, with(shift(8), func(k *record.Check) { k.Step = "other" }))
	assert.Equal(t, map[Kind]int{Same: 1}, Of(run(1, shift(8)), moved, nothingRead).Counts)
}

// along returns commands of so many bins, each at x.
func along(n int, x float64) *record.Along {
	a := &record.Along{BinNS: record.AlongBin, Stimulus: "played"}
	for w := range plant.Wheels {
		m := &a.Motors[w]
		for range n {
			m.Mean, m.Low, m.High = append(m.Mean, x), append(m.Low, x-0.001), append(m.High, x+0.001)
		}
	}
	return a
}

func TestCommandsThatNoCheckReports(t *testing.T) {
	raise := func(a *record.Along, w, from, to int, by float64) {
		for i := from; i < to; i++ {
			a.Motors[w].Mean[i] += by
			a.Motors[w].Low[i] += by
			a.Motors[w].High[i] += by
		}
	}
	known := *nothingRead
	known.CommandStep, known.Response = 0.001, 12
	compared := func(b *record.Along, checks ...record.Check) *Comparison {
		before, after := run(1, shift(8)), run(1, checks...)
		before.Alongs[Place{}] = along(100, 0.3)
		raise(before.Alongs[Place{}], 0, 50, 100, 0.1)
		raise(b, 0, 50, 100, 0.1)
		after.Alongs[Place{}] = b
		return Of(before, after, &known)
	}
	assert.Empty(t, compared(along(100, 0.3), shift(8)).Changes)
	later := along(100, 0.3)
	raise(later, 0, 50, 51, -0.1)
	assert.Empty(t, compared(later, shift(8)).Changes, "a bin later is the board's phase")
	short := along(100, 0.3)
	raise(short, 2, 20, 22, 0.02)
	assert.Empty(t, compared(short, shift(8)).Changes, "what is over within the board's phase")
	jump := along(100, 0.3)
	raise(jump, 2, 20, 30, 0.02)
	c := compared(jump, shift(8))
	require.Len(t, c.Changes, 1)
	assert.Equal(t, Unasked, c.Changes[0].Kind)
	assert.Equal(t, plant.RearLeft.String(), c.Changes[0].Motor)
	assert.InDelta(t, 25*record.AlongBin, c.Changes[0].AtNS, 5*record.AlongBin)
	assert.InDelta(t, 30.1, *c.Changes[0].Before, 1e-9)
	assert.InDelta(t, 32.1, *c.Changes[0].After, 1e-9)
	assert.Equal(t, 0, c.Exit())
	assert.Len(t, compared(jump, shift(9)).Changes, 1, "a check of the case tells it")

	// Where what is played moves, a board may have one of it later than another.
	ramp := make([]float64, 100)
	for i := range ramp {
		ramp[i] = 0.01 * float64(min(i, 40))
	}
	jump = along(100, 0.3)
	raise(jump, 2, 20, 30, 0.02)
	jump.Played = map[string][]float64{trace.YawRate.String(): ramp}
	moves := func(by float64) *Comparison {
		known.Moving = func(low, high stimulus.Values) (all [4]float64) {
			assert.Greater(t, high.YawRate, low.YawRate)
			assert.Equal(t, high.Steer, low.Steer)
			all[plant.RearLeft] = by
			return all
		}
		before, after := run(1, shift(8)), run(1, shift(8))
		before.Alongs[Place{}], after.Alongs[Place{}] = along(100, 0.3), jump
		before.Alongs[Place{}].Played = jump.Played
		return Of(before, after, &known)
	}
	assert.Len(t, moves(0.01).Changes, 1)
	assert.Empty(t, moves(0.03).Changes)
	assert.Len(t, moves(math.NaN()).Changes, 1, "the commands stand there for longer than they need to go there")
	raise(jump, 2, 25, 30, -0.02)
	assert.Len(t, moves(0.01).Changes, 1)
	assert.Empty(t, moves(math.NaN()).Changes, "no farther than the commands themselves went about it")
	raise(jump, 2, 60, 70, 0.02)
	assert.Len(t, moves(0.03).Changes, 1, "nothing moves there any more")
	other := along(100, 0.5)
	other.Stimulus = "something else"
	assert.Empty(t, compared(other, shift(8)).Changes)
}

func TestText(t *testing.T) {
	before := append(many(20, 1), loop(250), with(lost(60), func(k *record.Check) { k.Name = "evil\x1b[2J" }))
	after := append(many(20, 1.03), loop(240), with(lost(99), func(k *record.Check) { k.Name = "evil\x1b[2J" }))
	c := Of(run(1, before...), run(1, after...), nothingRead)
	var short, long bytes.Buffer
	c.Text(&short, false)
	c.Text(&long, true)
	assert.Contains(t, short.String(), "worse: loop rate 250.00 → 240.00 Hz\n    from it follow: 1 loop rate worse (--all lists them)\n")
	assert.Contains(t, short.String(), "better: shift 7.950 → 8.189 % (3.00 % larger, to ± 0.18)")
	assert.Contains(t, short.String(), "at a level of 1 % for the whole: half of it for 4 causes,\nhalf for 22 comparisons")
	assert.Contains(t, short.String(), "evil[2J: 60 → 99 ms")
	assert.NotContains(t, long.String(), "\x1b")
	assert.Greater(t, long.Len(), short.Len()+1000)
}
