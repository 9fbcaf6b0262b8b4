package assertions_test

import (
	"encoding/binary"
	"math"
	"testing"

	"pgregory.net/rapid"

	"hilrig/assertions"
	"hilrig/rig/signal"
	"hilrig/rig/trace"
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

// evidence builds a case out of fuzzed bytes.
func (r *reader) evidence() *assertions.Evidence {
	p := policy()
	p.DeadShift = r.float()
	p.ShiftAt.Error, p.ShiftAt.Gain, p.ShiftAt.Is = r.float(), r.float(), r.float()
	p.Cap.Of, *p.Floor = r.float(), r.float()
	p.Understeer.Raise = append(p.Understeer.Raise, assertions.Corner([]string{"", "rear_left", "outside_rear", "nowhere"}[r.byte()%4]))
	if r.byte()%2 == 0 {
		p.AtTheLimit, p.OppositeLock = assertions.LimitMovePartner, assertions.OppositeLockNoShift
	}
	e := &assertions.Evidence{Trace: &trace.Trace{}, Policy: p, CommandStep: r.float(), Lowest: r.float()}
	for _, name := range []string{"baseline", "hold", "other"} {
		from := signal.Time(int8(r.byte()))
		e.Steps = append(e.Steps, assertions.Step{
			Name: name, Baseline: name == "baseline", From: from, To: from + signal.Time(int8(r.byte())),
			Steer: r.float(), Speed: r.float(), YawRate: r.float(), Demand: r.float(), Throttle: r.float(), Gain: r.float(),
		})
	}
	for w := range e.Trace.Motor {
		o := &e.Trace.Motor[w]
		for end := range signal.Time(r.byte() % 128) {
			o.Frames = append(o.Frames, trace.Frame{End: end, Value: r.float(), Doubt: r.float()})
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
		results := c.Judge(e)
		if len(results) == 0 {
			t.Fatalf("%#v said nothing", c)
		}
		for _, r := range results {
			finite := !math.IsNaN(r.Estimate+r.Low+r.High) && !math.IsInf(r.Estimate, 0) && !math.IsInf(r.Low, 0) && !math.IsInf(r.High, 0)
			switch {
			case r.Verdict == assertions.Pass && (!finite || !r.Measured()):
				t.Fatalf("passed on no number: %+v", r)
			case r.Verdict == assertions.Pass && !(r.Low >= r.Limit.Low && r.High <= r.Limit.High):
				t.Fatalf("passed outside its limit: %+v", r)
			case r.Verdict != assertions.Pass && r.Why == "":
				t.Fatalf("no pass and no reason: %+v", r)
			case r.Name == "":
				t.Fatalf("no name: %+v", r)
			case !finite, math.IsNaN(r.Limit.Low), math.IsNaN(r.Limit.High):
				t.Fatalf("measured no number: %+v", r)
			}
		}
	}
}
