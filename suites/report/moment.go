package report

import (
	"math"

	"hilrig/assertions"
	"hilrig/rig/signal"
	"hilrig/rig/trace"
	"hilrig/suites/record"
)

// What is shown frame by frame about a moment, and at most before it, so that what was changed is seen.
const (
	closeBefore = 150 * signal.Millisecond
	closeMost   = 450 * signal.Millisecond
	closeAfter  = 250 * signal.Millisecond
	mostPoints  = record.MostValues / 2 // of a played quantity, or up to twice as many
)

// MomentChannels are the played quantities that are shown about a moment, in their order.
var MomentChannels = []trace.Channel{trace.YawRate, trace.Steer, trace.Speed, trace.Throttle, trace.Gain}

// MomentsOf returns what is about the moments of a case's checks that failed or were left open, each once: so many at
// most as a record keeps, those of the first checks that failed and of the first that were left open. known says whether any check
// has a moment.
func MomentsOf(e *assertions.Evidence, c *record.Case) (all []record.Moment, known bool) {
	type named struct {
		at   int64
		step string
	}
	seen := map[named]bool{}
	for _, of := range []struct {
		verdict string
		most    int
	}{{record.Fail, record.MostFailed}, {record.Undecided, record.MostOpen}} {
		for i := range c.Checks {
			k := &c.Checks[i]
			if k.Verdict != of.verdict || k.AtNS <= 0 {
				continue
			}
			known = true
			if of.most == 0 || seen[named{k.AtNS, k.Step}] {
				continue
			}
			seen[named{k.AtNS, k.Step}] = true
			if m := MomentOf(e, k); m != nil {
				all, of.most = append(all, *m), of.most-1
			}
		}
	}
	return all, known
}

// MomentOf returns what is about the moment of a check, frame by frame. Nothing of e is kept. It is nil where the moment lies
// outside of the trace, or the trace folds.
func MomentOf(e *assertions.Evidence, k *record.Check) *record.Moment {
	at := signal.Time(k.AtNS)
	t := e.Trace
	from, to := at-closeBefore, at+closeAfter
	step, known := e.Step(k.Step)
	known = known && k.Step != ""
	if known {
		from = max(at-closeMost, min(from, step.Applied-50*signal.Millisecond))
	}
	from, to = max(from, t.Start), min(to, t.Start+signal.Time(t.Rows())*t.Tick)
	if from >= to || t.Folds() {
		return nil
	}
	m := &record.Moment{AtNS: k.AtNS, Step: k.Step}
	if known {
		m.Measured = &record.Stretch{Name: step.Name, FromNS: int64(step.From), ToNS: int64(step.To)}
		for _, f := range step.Faults {
			m.Faults = append(m.Faults, record.Stretch{Name: f.Kind.String() + ": " + f.Wire, FromNS: int64(max(f.From, from)), ToNS: int64(min(f.To, to))})
		}
	}
	takeMoment(m, t, from, to)
	base, ok := e.Baseline()
	for w := range m.Motors {
		if ok {
			m.Motors[w].Baseline = meanCommand(t.Motor[w].Between(base.From, base.To))
		}
	}
	return m
}

// takeMoment takes channels and frames of a trace, from the tick on in which from lies.
func takeMoment(m *record.Moment, t *trace.Trace, from, to signal.Time) {
	first, last := int((from-t.Start)/t.Tick), int((to-t.Start)/t.Tick)
	from = t.Start + signal.Time(first)*t.Tick
	m.FromNS, m.ToNS = int64(from), int64(to)
	stride := max(1, (last-first)/mostPoints)
	m.StrideNS, m.Played = int64(stride)*int64(t.Tick), map[string][]float64{}
	for _, ch := range MomentChannels {
		values := t.Values(ch, min(first, t.Length(ch)), min(last, t.Length(ch)))
		var taken []float64
		for i := 0; i < len(values) && len(taken) < record.MostValues; i += stride {
			taken = append(taken, record.Rounded(values[i]))
		}
		if len(taken) > 0 && finite(taken) {
			m.Played[ch.String()] = taken
		}
	}
	for w := range t.Motor {
		frames := t.Motor[w].Between(from, to)
		s := &m.Motors[w]
		if n := len(frames) - record.MostFrames; n > 0 {
			frames, s.LeftOut = frames[:record.MostFrames], n
		}
		before := from
		s.StepsNS, s.Values = make([]int64, len(frames)), make([]float64, len(frames))
		for i := range frames {
			s.StepsNS[i], s.Values[i] = int64(frames[i].End-before), record.Rounded(frames[i].Value)
			before = frames[i].End
		}
	}
}

// finite says whether all values are numbers.
func finite(values []float64) bool {
	for _, x := range values {
		if math.IsNaN(x) || math.IsInf(x, 0) {
			return false
		}
	}
	return true
}

// meanCommand returns the mean of what frames command; nil where there are none.
func meanCommand(frames []trace.Frame) *float64 {
	if len(frames) == 0 {
		return nil
	}
	sum := 0.0
	for i := range frames {
		sum += frames[i].Value
	}
	mean := record.Rounded(sum / float64(len(frames)))
	return &mean
}
