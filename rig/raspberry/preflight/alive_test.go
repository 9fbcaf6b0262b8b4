package preflight

import (
	"testing"

	"github.com/stretchr/testify/assert"

	"hilrig/rig/decode"
	"hilrig/rig/signal"
	"hilrig/rig/trace"
)

// A second in which 50 pulses came on each motor line at idle, and what each row
// makes of that on the rear left one.
func TestAliveWantsFramesAtIdle(t *testing.T) {
	value := func(v, uncertainty float64) func(*trace.Output) {
		return func(o *trace.Output) { o.Frames[7].Value, o.Frames[7].Uncertainty = v, uncertainty }
	}
	events := func(n int, k trace.EventKind) func(*trace.Output) {
		return func(o *trace.Output) {
			for range n {
				o.Events = append(o.Events, trace.Event{Kind: k})
			}
		}
	}
	tests := []struct {
		name  string
		grade Grade
		says  string
		of    func(*trace.Output)
	}{
		{"all well", Well, "50 frames in 1 s", func(*trace.Output) {}},
		{"a step off", Well, "all at idle", value(0.001, 0)},
		{"stops are idle", Well, "100 frames", events(50, trace.Stop)},
		{"only stops", Well, "50 frames", func(o *trace.Output) { o.Frames = nil; events(50, trace.Stop)(o) }},
		{"silent", Wrong, "silent for 1 s", func(o *trace.Output) { o.Frames = nil }},
		{"silent, and said so", Wrong, "silent for 1 s", func(o *trace.Output) { o.Frames = nil; events(1, trace.Lost)(o) }},
		{"turns", Wrong, "is at 8.0 %", value(0.08, 0)},
		{"turns backwards", Wrong, "is at -8.0 %", value(-0.08, 0.01)},
		{"may turn or not", Well, "all at idle", value(0.08, 0.07)},
		{"goes away", Wrong, "none for a while", events(1, trace.Lost)},
		{"goes away unseen", Warning, "and 1 too uncertain", func(o *trace.Output) { events(1, trace.Lost)(o); events(1, trace.Uncertain)(o) }},
		{"another format", Wrong, "40 of 90 are no servo_pulse", events(40, trace.Overlong)},
		{"nothing but another format", Wrong, "3 of 3 are no", func(o *trace.Output) { o.Frames = nil; events(3, trace.Short)(o) }},
		{"noise", Warning, "and 1 that are no servo_pulse", events(1, trace.Short)},
		{"not seen well", Warning, "2 too uncertain", events(2, trace.Uncertain)},
		{"not seen at all", Wrong, "50 pulses, all too uncertain", func(o *trace.Output) { o.Frames = nil; events(50, trace.Uncertain)(o) }},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			tr := &trace.Trace{}
			tr.Reset(0, signal.Millisecond, 1000)
			tr.Column[0] = make([]float64, 1000)
			var motors [4]decode.Motor
			for i := range motors {
				motors[i].Servo = decode.Servo{Idle: signal.Millisecond, Full: 2 * signal.Millisecond}
				tr.Motor[i].Frames = make([]trace.Frame, 50)
			}
			tt.of(&tr.Motor[2])
			found := Alive(tr, motors, 0)
			sound(t, found)
			for i, f := range found {
				if i != 2 {
					assert.Equal(t, Well, f.Grade, f.Check)
				}
			}
			assert.Equal(t, "motor_rear_left", found[2].Check)
			assert.Equal(t, tt.grade, found[2].Grade, found[2].Says)
			assert.Contains(t, found[2].Says, tt.says)
		})
	}
}

// What the rig's own lateness may have made of the throttle is not held against the board, up
// to what motors may turn by; beyond that nothing may be powered.
func TestALateRigBlamesItselfFirst(t *testing.T) {
	for _, c := range []struct {
		value, slack float64
		grade        Grade
		remedy       string
	}{
		{0.08, 0, Wrong, "see that idle and full"},
		{0.08, 0.01, Wrong, "see that idle and full"},
		{0.08, 0.05, Wrong, "the rig was late itself, which a board may take for up to 5 % of throttle: look at hilrig timing first; then see"},
		{0.08, 0.07, Warning, "the rig was late itself, which a board may take for up to 7 % of throttle: look at hilrig timing"},
		{0.5, 0.7, Wrong, "up to 70 % of throttle: look at hilrig timing first"},
		{0.01, 0.7, Well, ""},
	} {
		tr := &trace.Trace{}
		tr.Reset(0, signal.Millisecond, 1000)
		var motors [4]decode.Motor
		for i := range motors {
			motors[i].Servo = decode.Servo{Idle: signal.Millisecond, Full: 2 * signal.Millisecond}
			tr.Motor[i].Frames = make([]trace.Frame, 50)
		}
		tr.Motor[2].Frames[7].Value = c.value
		found := Alive(tr, motors, c.slack)
		sound(t, found)
		assert.Equal(t, c.grade, found[2].Grade, "%+v", c)
		assert.Contains(t, found[2].Remedy, c.remedy)
	}
}

// While nobody looked, no frame could be seen.
func TestALossIsTheBoardsWhereSomebodyLooked(t *testing.T) {
	for _, tt := range []struct {
		name  string
		blind []trace.Span
		grade Grade
	}{
		{"looked", nil, Wrong},
		{"looked away before", []trace.Span{{From: 100, To: 300 * signal.Millisecond}}, Wrong},
		{"looked away", []trace.Span{{From: 390 * signal.Millisecond, To: 450 * signal.Millisecond}}, Well},
	} {
		t.Run(tt.name, func(t *testing.T) {
			o := trace.Output{Frames: make([]trace.Frame, 9), Events: []trace.Event{{At: 500 * signal.Millisecond, Kind: trace.Lost}}}
			f := alive("x", &trace.Trace{NotSampled: tt.blind}, &o, &decode.Motor{Servo: decode.Servo{Idle: 1000, Full: 2000}}, 0)
			assert.Equal(t, tt.grade, f.Grade)
		})
	}
}
