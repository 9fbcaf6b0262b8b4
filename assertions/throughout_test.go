package assertions_test

import (
	"slices"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"hilrig/assertions"
	"hilrig/assertions/law"
	"hilrig/plant"
	"hilrig/rig/signal"
	"hilrig/rig/trace"
)

// What is asked of every case: sound commands, and no longer without one than is declared.
func TestThroughoutACase(t *testing.T) {
	const w = plant.RearLeft
	corrupt := func(n int) func(e *assertions.Evidence) {
		return func(e *assertions.Evidence) {
			for i := range n {
				e.Trace.Motor[w].Events = append(e.Trace.Motor[w].Events, trace.Event{At: e.Steps[1].From + signal.Time(i)*ms, Kind: trace.Corrupt})
			}
		}
	}
	pause := func(from, to signal.Time) func(e *assertions.Evidence) {
		return func(e *assertions.Evidence) {
			at := e.Steps[1].From
			e.Trace.Motor[w].Frames = slices.DeleteFunc(e.Trace.Motor[w].Frames, func(f trace.Frame) bool { return f.Start > at+from && f.End < at+to })
		}
	}
	tests := []struct {
		name        string
		policy      func(p *law.Policy)
		corrupt     func(e *assertions.Evidence)
		sound, gaps assertions.Verdict // "" for none
	}{
		{"well", nil, func(*assertions.Evidence) {}, assertions.Pass, ""},
		{"well, with a gap declared", func(p *law.Policy) { p.LongestGap = new(6 * ms) }, func(*assertions.Evidence) {}, assertions.Pass, assertions.Pass},
		{"a gap declared that its rate breaks", func(p *law.Policy) { p.LongestGap = new(2 * ms) }, func(*assertions.Evidence) {}, assertions.Pass, assertions.Fail},
		{"one is corrupt", nil, corrupt(1), assertions.Fail, ""},
		{"one is, and a share is declared", func(p *law.Policy) { p.CorruptFrames = new(0.001) }, corrupt(1), assertions.Pass, ""},
		{"many are, and a share is declared", func(p *law.Policy) { p.CorruptFrames = new(0.001) }, corrupt(30), assertions.Fail, ""},
		{"none is allowed", func(p *law.Policy) { p.CorruptFrames = new(0.0) }, corrupt(1), assertions.Fail, ""},
		{"corrupt where nobody looked", nil, func(e *assertions.Evidence) {
			corrupt(1)(e)
			e.Trace.NotSampled = []trace.Span{{From: e.Steps[1].From - ms, To: e.Steps[1].From}}
		}, assertions.Pass, ""},
		{"a pause", func(p *law.Policy) { p.LongestGap = new(20 * ms) }, pause(0, 40*ms), assertions.Pass, assertions.Fail},
		{"a pause that is allowed", func(p *law.Policy) { p.LongestGap = new(20 * ms) }, pause(0, 15*ms), assertions.Pass, assertions.Pass},
		{"a pause in which nobody looked", func(p *law.Policy) { p.LongestGap = new(20 * ms) }, func(e *assertions.Evidence) {
			pause(0, 40*ms)(e)
			e.Trace.NotSampled = []trace.Span{{From: e.Steps[1].From + 10*ms, To: e.Steps[1].From + 15*ms}}
		}, assertions.Pass, assertions.Pass},
		{"commands that were left open", func(p *law.Policy) { p.LongestGap = new(20 * ms) }, func(e *assertions.Evidence) {
			pause(0, 40*ms)(e)
			e.Trace.Motor[w].Events = append(e.Trace.Motor[w].Events, trace.Event{At: e.Steps[1].From + 20*ms, Kind: trace.Uncertain})
		}, assertions.Pass, assertions.Pass},
		{"silence at the end", func(p *law.Policy) { p.LongestGap = new(20 * ms) }, pause(100*ms, signal.Second), assertions.Pass, assertions.Fail},
		{"none for longer than the format allows", nil, func(e *assertions.Evidence) {
			e.Trace.Motor[w].Events = append(e.Trace.Motor[w].Events, trace.Event{At: e.Steps[1].From, Kind: trace.Lost})
		}, assertions.Fail, ""},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			p := lossPolicy()
			if tt.policy != nil {
				tt.policy(p)
			}
			e := (&tape{firmware: newFirmware(p, nil)}).play(base(), before())
			tt.corrupt(e)
			results := ofLines(e)
			want := []assertions.Verdict{tt.sound}
			if tt.gaps != "" {
				want = append(want, tt.gaps)
			}
			require.Len(t, results, len(want))
			for i, r := range results {
				assert.Equal(t, want[i], r.Verdict, "%+v", r)
			}
		})
	}
}

// A frame whose checksum settled a bit is a command like another, and says nothing of corruption: only the others are judged by, and
// which share they are is said.
func TestFramesThatWereSettledProveNothing(t *testing.T) {
	const w = plant.RearLeft
	played := func(every int, corrupt bool) assertions.Result {
		e := (&tape{firmware: newFirmware(lossPolicy(), nil)}).play(base(), before())
		for m := range e.Trace.Motor {
			o := &e.Trace.Motor[m]
			for i, f := range o.Frames {
				if i%every == 0 {
					o.Events = append(o.Events, trace.Event{At: f.End, Kind: trace.Settled})
				}
				if corrupt && m == int(w) && i == len(o.Frames)/2+1 {
					o.Events = append(o.Events, trace.Event{At: f.End + 1, Kind: trace.Corrupt})
				}
			}
		}
		return ofLines(e)[0]
	}
	half := played(2, false)
	assert.Equal(t, assertions.Pass, half.Verdict, "%+v", half)
	assert.Regexp(t, `judged on the (49\.\d|50|50\.\d) % that leave no bit open`, half.Must().Quantity)
	assert.Equal(t, assertions.Fail, played(2, true).Verdict)
	all := played(1, false)
	assert.Equal(t, assertions.Undecided, all.Verdict, "%+v", all)
	assert.Contains(t, all.Why, "bit_tolerance")
}

// ofLines returns what is asked of the motor lines, without what is asked of what is commanded.
func ofLines(e *assertions.Evidence) []assertions.Result {
	return slices.DeleteFunc(assertions.Throughout(e), func(r assertions.Result) bool { return r.Name == assertions.EveryCommand })
}

// A board that may fall silent, after a loss or until it drives, does not miss commands.
func TestSilenceThatIsAllowedIsNoGap(t *testing.T) {
	p := lossPolicy()
	p.LongestGap, p.SafeState, p.StartState = new(20*ms), law.OutputsSilent, law.OutputsSilent
	for _, of := range []string{"throttle_lost", "start"} {
		e := (&tape{firmware: newFirmware(p, func(f *firmware) { f.silentWhenSafe, f.silentAtStart = true, true })}).play(faultCases[of]...)
		for w := range e.Trace.Motor {
			o := &e.Trace.Motor[w]
			o.Events = append(o.Events, trace.Event{At: e.Steps[len(e.Steps)-1].From + 110*ms, Kind: trace.Lost})
		}
		results := ofLines(e)
		assert.Equal(t, assertions.Pass, assertions.Worst(results), "%s: %+v", of, results)
	}
	assert.Empty(t, assertions.Throughout(&assertions.Evidence{}))
	assert.Empty(t, assertions.Throughout(nil))
}
