package assertions_test

import (
	"encoding/binary"
	"maps"
	"math"
	"regexp"
	"slices"
	"testing"

	"pgregory.net/rapid"

	"hilrig/assertions"
	"hilrig/assertions/law"
	"hilrig/rig/signal"
	"hilrig/rig/trace"
	"hilrig/stimulus"
)

// reader takes numbers from fuzzed bytes, zeros when they run out.
type reader []byte

func (r *reader) byte() byte {
	if len(*r) == 0 {
		return 0
	}
	b := (*r)[0]
	*r = (*r)[1:]
	return b
}

// float returns a plain share or, now and then, whatever eight bytes say.
func (r *reader) float() float64 {
	switch b := r.byte(); b {
	case 255:
		return math.NaN()
	case 254:
		return math.Inf(1)
	case 253:
		return math.Inf(-1)
	case 252:
		return math.MaxFloat64
	case 251:
		var raw [8]byte
		for i := range raw {
			raw[i] = r.byte()
		}
		return math.Float64frombits(binary.LittleEndian.Uint64(raw[:]))
	default:
		return float64(b)/100 - 0.5
	}
}

// time returns a time of some ns.
func (r *reader) time() signal.Time { return signal.Time(int8(r.byte())) }

// faults returns up to two faults.
func (r *reader) faults(from signal.Time) []stimulus.Fault {
	var faults []stimulus.Fault
	wires := []string{"steer", "throttle", "yaw_serial", "rear_left", "front_left_a", ""}
	for range r.byte() % 3 {
		faults = append(faults, stimulus.Fault{
			Kind: stimulus.FaultKind(r.byte() % 8), Wire: wires[int(r.byte())%len(wires)], From: from + r.time(), To: from + r.time(), By: r.float(),
		})
	}
	return faults
}

// evidence builds a case out of fuzzed bytes.
func (r *reader) evidence() *assertions.Evidence {
	p := lossPolicy()
	p.DeadShift = r.float()
	p.ShiftAt.Error, p.ShiftAt.Gain, p.ShiftAt.Is = r.float(), r.float(), r.float()
	p.Cap.Of, *p.Floor = r.float(), r.float()
	p.Understeer.Raise = append(p.Understeer.Raise, law.Corner([]string{"", "rear_left", "outside_rear", "nowhere"}[r.byte()%4]))
	*p.Spike, *p.Resolution, *p.DeadBand = r.float(), r.float(), r.float()
	p.YawLost.Within, p.ThrottleLost.Within, *p.OutputsTogether = r.time(), r.time(), r.time()
	p.SafeState = []law.Outputs{law.OutputsIdle, law.OutputsSilent, law.OutputsIdleOrSilent, 0}[r.byte()%4]
	p.StartState = []law.Outputs{law.OutputsIdle, law.OutputsSilent, law.OutputsIdleOrSilent}[r.byte()%3]
	p.Recovers = law.Recovers(1 + r.byte()%3)
	if r.byte()%2 == 0 {
		p.AtTheLimit, p.OppositeLock = law.LimitMovePartner, law.OppositeLockNoShift
	}
	e := &assertions.Evidence{Trace: &trace.Trace{}, Policy: p, CommandStep: r.float(), Lowest: r.float()}
	for _, name := range []string{"baseline", "hold", "other"} {
		from := signal.Time(int8(r.byte()))
		e.Steps = append(e.Steps, assertions.Step{
			Name: name, Baseline: name == "baseline", From: from, To: from + signal.Time(int8(r.byte())),
			Steer: r.float(), Speed: r.float(), YawRate: r.float(), Demand: r.float(), Throttle: r.float(), Gain: r.float(),
			Faults: r.faults(from), Swept: r.byte()%2 == 0, Moving: r.byte()%2 == 0, PowerUp: r.byte()%2 == 0,
		})
	}
	for list := range e.Trace.Sent {
		for t := range signal.Time(r.byte() % 64) {
			e.Trace.Sent[list] = append(e.Trace.Sent[list], trace.Sent{Start: 2 * t, End: 2*t + r.time(), Value: r.float(), Bad: r.byte()%4 == 0})
		}
	}
	for w := range e.Trace.Motor {
		o := &e.Trace.Motor[w]
		for end := range signal.Time(r.byte() % 128) {
			o.Frames = append(o.Frames, trace.Frame{End: end, Value: r.float(), Uncertainty: r.float()})
		}
		o.Events = append(o.Events, trace.Event{At: signal.Time(r.byte()), Kind: trace.EventKind(r.byte() % 6)})
	}
	return e
}

// Whatever a case holds, no check panics, each says something, and what is no
// finite number never passes.
func FuzzJudge(f *testing.F) {
	f.Add([]byte{})
	ramp := make([]byte, 600)
	for i := range ramp {
		ramp[i] = byte(i * 37)
	}
	f.Add(ramp)
	steady := make([]byte, 600)
	for i := range steady {
		steady[i] = 90
	}
	f.Add(steady)
	nan := append([]byte(nil), steady...)
	for i := 40; i < 600; i += 7 {
		nan[i] = 255
	}
	f.Add(nan)
	f.Fuzz(func(t *testing.T, data []byte) {
		soundly(t, data)
	})
}

// The same with bytes that rapid draws: long enough to fill every motor.
func TestJudgeIsSound(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		soundly(t, rapid.SliceOfN(rapid.Byte(), 200, 2000).Draw(t, "data"))
	})
}

// soundly judges what data says and holds the results to what they promise.
func soundly(t interface{ Fatalf(string, ...any) }, data []byte) {
	r := reader(data)
	e := r.evidence()
	for _, c := range allChecks() {
		sound(t, c, e)
	}
}

// A case that is played as it should be, with readings here and there invalidated.
func TestJudgeIsSoundOnCorruptReadings(t *testing.T) {
	names := slices.Sorted(maps.Keys(faultCases))
	names = append(names, slices.Sorted(maps.Keys(lineCases))...)
	played := map[string]*assertions.Evidence{}
	for _, of := range names {
		tp := tape{firmware: newFirmware(linePolicy(of), asDeclared), ramps: ramps}
		played[of] = tp.play(append(faultCases[of], lineCases[of]...)...)
	}
	odd := rapid.SampledFrom([]float64{math.NaN(), math.Inf(1), math.Inf(-1), math.MaxFloat64, -1, 0.41, 0})
	rapid.Check(t, func(t *rapid.T) {
		of := rapid.SampledFrom(names).Draw(t, "of")
		e := *played[of]
		e.Trace = &trace.Trace{Start: e.Trace.Start, Tick: e.Trace.Tick, Sent: e.Trace.Sent}
		for w := range e.Trace.Motor {
			frames := slices.Clone(played[of].Trace.Motor[w].Frames)
			for range rapid.IntRange(0, 3).Draw(t, "invalidated") {
				i := rapid.IntRange(0, len(frames)-1).Draw(t, "frame")
				if rapid.Bool().Draw(t, "uncertain") {
					frames[i].Uncertainty = math.Abs(odd.Draw(t, "value"))
				} else {
					frames[i].Value = odd.Draw(t, "value")
				}
			}
			e.Trace.Motor[w].Frames = frames[:rapid.IntRange(0, len(frames)).Draw(t, "kept")]
		}
		for _, s := range e.Steps {
			check := assertions.PolicyBranch{Of: of, Step: s.Name}
			sound(t, check, &e)
			for _, r := range assertions.Judge(check, &e) {
				if negativeTime.MatchString(r.Why) {
					t.Fatalf("a time below zero: %+v", r)
				}
			}
		}
	})
}

// negativeTime finds a time below zero in a sentence.
var negativeTime = regexp.MustCompile(`(^|[^0-9.])-[0-9.]+ (ns|us|ms|s)\b`)

// sound holds the results of one check to what they promise.
func sound(t interface{ Fatalf(string, ...any) }, c assertions.Check, e *assertions.Evidence) {
	results := assertions.Judge(c, e)
	if len(results) == 0 {
		t.Fatalf("%#v said nothing", c)
	}
	if branch, ok := c.(assertions.PolicyBranch); ok {
		planned(t, branch, e, results)
	}
	for _, r := range results {
		m, measured := r.Measurement()
		finite := !math.IsNaN(m.Estimate+m.Low+m.High) && !math.IsInf(m.Estimate, 0) && !math.IsInf(m.Low, 0) && !math.IsInf(m.High, 0)
		switch {
		case !measured && m != assertions.Measurement{}:
			t.Fatalf("numbers of what was not measured: %+v", r)
		case r.Verdict == assertions.Pass && !measured:
			t.Fatalf("passed on no number: %+v", r)
		case r.Verdict == assertions.Pass && !(m.Low >= m.Limit.Low && m.High <= m.Limit.High):
			t.Fatalf("passed outside its limit: %+v", r)
		case r.Verdict != assertions.Pass && r.Why == "":
			t.Fatalf("no pass and no reason: %+v", r)
		case r.Name == "":
			t.Fatalf("no name: %+v", r)
		case !finite, math.IsNaN(m.Limit.Low), math.IsNaN(m.Limit.High):
			t.Fatalf("measured no number: %+v", r)
		}
	}
}
