package assertions

import (
	"math"

	"hilrig/assertions/law"
	"hilrig/assertions/measure"
	"hilrig/plant"
	"hilrig/rig/signal"
)

// Result is one thing that a check found. What it measured, if anything, is told by
// [Result.Measurement]: a result of which nothing was measured (not asked, no frames)
// holds no numbers.
type Result struct {
	Name    string // in the trade's words: "understeer: outside_rear raised"
	Verdict Verdict

	At   signal.Time // where to look in the trace
	Step string      // the step it was read in
	Why  string      // for fail and undecided: what is wrong in a sentence, or what would decide it
	// Keys are, of a fail, the keys of the policy that the check asks, as far as that is known.
	Keys []string
	// LeftOut is how many trials, updates or frames were not used, for the rig was
	// late or the sampler left them open.
	LeftOut int
	// RanTogether says that it is undecided for answers had not ended when the next trial
	// came: trials that stand farther apart may decide it.
	RanTogether bool
	// Samples are the single readings that the measurement sums up, in its unit and in the order
	// in which they came: of a response the time of each trial that was answered. Of other checks
	// there are none. They are shared and not to be changed.
	Samples []float64

	screened bool        // it rests on what the rig played in time alone
	measured Measurement // without a quantity where nothing was measured
}

// Measurement is what a check measured and what it held that against. Estimate, Low,
// High and the ends of Limit are in Unit. Estimate and its interval are finite.
type Measurement struct {
	Quantity string  // what was estimated: "shift of outside_rear (rear_right)"
	Unit     string  // "%", "deg/s", "ms"; empty for a count
	Estimate float64 // with the interval Low..High
	Low      float64
	High     float64
	Limit    Limit // infinite on a side that is open
	Budget   Budget
}

// Budget is what an interval is made of, standard uncertainties in the measurement's
// unit (JCGM 100).
type Budget struct {
	Statistics float64 // the spread of what was read
	Instrument float64 // what resolution and sampling leave, however long it is observed
	Known      bool    // the interval is made of these two; otherwise both say nothing
}

// Measurement returns what the result measured. It is false where nothing was measured,
// whether the check was not asked, blocked, or had nothing to read; Why then says why.
func (r *Result) Measurement() (m Measurement, ok bool) { return r.measured, r.Measured() }

// Measured says whether the result holds a measurement.
func (r *Result) Measured() bool { return r.measured.Quantity != "" }

// Limit is what an estimate is held against: Low <= x <= High. Use infinities
// where one side is open.
type Limit = measure.Interval

// between returns the limit from low to high.
func between(low, high float64) Limit { return Limit{Low: low, High: high} }

// AtLeast and AtMost return limits that are open on one side.
func AtLeast(x float64) Limit { return between(x, math.Inf(1)) }

// AtMost returns the limit that x stands above.
func AtMost(x float64) Limit { return between(math.Inf(-1), x) }

// explained returns r with why it failed, or what would decide it; one of which nothing was
// measured has its reason already.
func (r Result) explained(failed, undecided string) Result {
	switch {
	case !r.Measured():
	case r.Verdict == Fail:
		r.Why = failed
	case r.Verdict == Undecided:
		r.Why = undecided
	}
	return r
}

// worse says whether r is the worse of two results of one quantity that is to
// be small: by its verdict, then by its size.
func (r *Result) worse(other *Result) bool {
	if r.Verdict != other.Verdict {
		return r.Verdict.Compare(other.Verdict) > 0
	}
	return r.measured.Estimate > other.measured.Estimate
}

// worstMotor judges each motor and returns the worst of the results. The first error keeps
// all from being judged.
func worstMotor(name string, judge func(w plant.Wheel) (Result, error)) Result {
	var worst Result
	for i, w := range plant.Wheels {
		r, err := judge(w)
		if err != nil {
			return unjudged(name, err)
		}
		if i == 0 || r.worse(&worst) {
			worst = r
		}
	}
	return worst
}

// eachMotor judges each of motors. Where there are none, or err keeps the check from being
// judged in step s, the only result has the given name.
func eachMotor(name string, motors []law.Corner, s *Step, err error, judge func(c law.Corner) Result) []Result {
	if err == nil && len(motors) == 0 {
		err = s.undecided("the check names no motor; name at least one")
	}
	if err != nil {
		return []Result{unjudged(name, err)}
	}
	return each(motors, judge)
}

// each returns the result of judge for each of all.
func each[T any](all []T, judge func(x T) Result) []Result {
	results := make([]Result, len(all))
	for i, x := range all {
		results[i] = judge(x)
	}
	return results
}

// magnitude returns r with the verdict on a magnitude x, at least 0 and known to ±u, which
// has to be at most most. The numbers are shown in unit, scale times those that are passed.
func magnitude(r Result, quantity, unit string, x, u, most, scale float64) Result {
	return judged(r, Measurement{
		Quantity: quantity, Unit: unit, Estimate: x * scale, Low: max(x-u, 0) * scale, High: (x + u) * scale, Limit: AtMost(most * scale),
	})
}

// verdictOf is what a decision makes a check come to.
var verdictOf = [...]Verdict{measure.Across: Undecided, measure.Inside: Pass, measure.Outside: Fail}

// judged returns r with what was measured and the verdict on it. A number that is not
// finite decides nothing and is not kept.
func judged(r Result, m Measurement) Result {
	for _, x := range []float64{m.Estimate, m.Low, m.High} {
		if !finite(x) {
			return unmeasured(r, m.Quantity+" cannot be worked out: the readings are no finite numbers")
		}
	}
	if math.IsNaN(m.Limit.Low) || math.IsNaN(m.Limit.High) {
		return unmeasured(r, m.Quantity+" has no limit: what the policy or the check declares is no number")
	}
	r.measured = m
	r.Verdict = verdictOf[measure.Interval{Low: m.Low, High: m.High}.Against(m.Limit)]
	return r
}

// unmeasured returns r undecided, without numbers and with a reason.
func unmeasured(r Result, why string) Result {
	return Result{Name: r.Name, Step: r.Step, At: r.At, Verdict: Undecided, Why: why}
}

// found turns an estimate in shares of range into a judged result in percent.
// b, where it blocks, takes its place.
func found(name, quantity string, est measure.Estimate, err error, limit Limit, s *Step) Result {
	if err != nil {
		return unjudged(name, err)
	}
	return estimated(Result{Name: name, Step: s.Name, At: s.From}, quantity, "%", est, limit, percent)
}

// estimated returns r with what was estimated and the verdict on it. The numbers are
// shown in unit, scale times those of the estimate and its limit.
func estimated(r Result, quantity, unit string, est measure.Estimate, limit Limit, scale float64) Result {
	i := est.Interval()
	m := Measurement{
		Quantity: quantity, Unit: unit, Estimate: est.Value * scale, Low: i.Low * scale, High: i.High * scale,
		Limit: between(limit.Low*scale, limit.High*scale),
	}
	if statistical, systematic := est.Statistical*scale, est.Systematic*scale; finite(statistical) && finite(systematic) {
		m.Budget = Budget{statistical, systematic, statistical != 0 || systematic != 0}
	}
	return judged(r, m)
}

// finite says whether x is a number with an end.
func finite(x float64) bool { return !math.IsNaN(x) && !math.IsInf(x, 0) }
