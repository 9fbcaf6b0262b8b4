package preflight

import (
	"errors"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"

	"hilrig/plant"
	"hilrig/rig/decode"
	"hilrig/rig/signal"
	"hilrig/rig/trace"
)

func TestTheFirstTurnIsSmall(t *testing.T) {
	for _, tt := range []struct{ limit, throttle, most float64 }{
		{0, 0.1, 0.25},
		{1, 0.1, 0.25},
		{0.25, 0.1, 0.25},
		{0.2, 0.1, 0.2},
		{0.15, 0.075, 0.15},
		{0.04, 0.02, 0.04},
	} {
		throttle, most := FirstTurn(tt.limit)
		assert.InDelta(t, tt.throttle, throttle, 1e-12, "limit %v", tt.limit)
		assert.InDelta(t, tt.most, most, 1e-12, "limit %v", tt.limit)
		assert.LessOrEqual(t, throttle, most/2)
	}
}

// A second in which frames came every 10 ms: 10 % from 100 to 900 ms, idle from 950 ms
// on. Each row has a fault of the rear left one, and says what is made of it.
func TestGentleWantsAllFourAtTheThrottle(t *testing.T) {
	const throttle = 0.1
	from, to, idle := 100*signal.Millisecond, 900*signal.Millisecond, 950*signal.Millisecond
	while := func(a, b signal.Time, v, uncertainty float64) func(*trace.Output) {
		return func(o *trace.Output) {
			for i := range o.Frames {
				if f := &o.Frames[i]; f.Start >= a && f.Start < b {
					f.Value, f.Uncertainty = v, uncertainty
				}
			}
		}
	}
	without := func(a, b signal.Time) func(*trace.Output) {
		return func(o *trace.Output) {
			var kept []trace.Frame
			for _, f := range o.Frames {
				if f.Start < a || f.Start >= b {
					kept = append(kept, f)
				}
			}
			o.Frames = kept
		}
	}
	stops := func(a, b signal.Time) func(*trace.Output) {
		return func(o *trace.Output) {
			without(a, b)(o)
			for at := a; at < b; at += 10 * signal.Millisecond {
				o.Events = append(o.Events, trace.Event{At: at, Kind: trace.Stop})
			}
		}
	}
	end := signal.Second
	for _, tt := range []struct {
		name  string
		grade Grade
		says  string
		of    func(*trace.Output)
		slack float64
	}{
		{"all well", Well, "10.0 %, 10.0 %, 10.0 %, 10.0 % of their range at 10.0 % throttle, and back to idle", func(*trace.Output) {}, 0},
		{"a little less", Well, "10.0 %, 10.0 %, 9.0 %, 10.0 %", while(from, to, 0.09, 0), 0},
		{"less than the others", Wrong, "motor_rear_left is at 7.5 % of its range at 10.0 % throttle, and all four", while(from, to, 0.075, 0), 0},
		{"more than the others", Wrong, "motor_rear_left went to 13.0 %", while(from, to, 0.13, 0), 0},
		{"once more", Wrong, "motor_rear_left went to 30.0 % of its range at 10.0 % throttle", while(500*signal.Millisecond, 510*signal.Millisecond, 0.3, 0.01), 0},
		{"more before the throttle opens", Wrong, "went to 30.0 %", while(0, 10*signal.Millisecond, 0.3, 0), 0},
		{"perhaps more", Well, "back to idle", while(500*signal.Millisecond, 510*signal.Millisecond, 0.3, 0.2), 0},
		{"hard backward", Wrong, "went to -30.0 %", while(from, to, -0.3, 0), 0},
		{"backward", Wrong, "motor_rear_left is at -10.0 %", while(from, to, -0.1, 0), 0},
		{"idle", Wrong, "motor_rear_left is at 0.0 %", while(from, to, 0, 0), 0},
		{"goes on", Wrong, "motor_rear_left does not go back to idle", while(idle, end, 0.1, 0), 0},
		{"told to stop afterwards", Well, "back to idle", stops(idle, end), 0},
		{"told to stop", Wrong, "motor_rear_left is at 0.0 %", stops(from, to), 0},
		{"silent", Wrong, "motor_rear_left fell silent", func(o *trace.Output) { o.Frames = nil }, 0},
		{"silent while it turns", Wrong, "fell silent", without(from, to), 0},
		{"not seen well", Wrong, "2 pulses of motor_rear_left are too uncertain to be read", func(o *trace.Output) {
			without(from, to)(o)
			o.Events = append(o.Events, trace.Event{At: from, Kind: trace.Uncertain}, trace.Event{At: to, Kind: trace.Uncertain}, trace.Event{Kind: trace.Uncertain})
		}, 0},
		{"silent afterwards", Wrong, "fell silent", without(idle, end), 0},
		{"more, and the rig was late", Warning, "motor_rear_left went to 13.0 %", while(from, to, 0.13, 0), 0.01},
		{"more than the rig was late", Wrong, "motor_rear_left went to 13.0 %", while(from, to, 0.13, 0), 0.008},
		{"less, and the rig was late", Warning, "motor_rear_left is at 7.5 %", while(from, to, 0.075, 0), 0.01},
		{"not at idle, and the rig was late", Warning, "does not go back", while(idle, end, 0.1, 0), 0.1},
		{"idle, however late the rig was", Wrong, "motor_rear_left is at 0.0 %", while(from, to, 0, 0), 1},
		{"silent, however late the rig was", Wrong, "fell silent", without(from, to), 1},
	} {
		t.Run(tt.name, func(t *testing.T) {
			tr := &trace.Trace{}
			var motors [4]decode.Motor
			for i := range motors {
				motors[i].Servo = decode.Servo{Idle: signal.Millisecond, Full: 2 * signal.Millisecond}
				for at := signal.Time(0); at < end; at += 10 * signal.Millisecond {
					tr.Motor[i].Frames = append(tr.Motor[i].Frames, trace.Frame{Start: at, End: at + signal.Millisecond})
				}
				while(from, to, throttle, 0)(&tr.Motor[i])
			}
			tt.of(&tr.Motor[plant.RearLeft])
			f, mean := Gentle(tr, motors, throttle, tt.slack, from, to, idle)
			assert.Equal(t, tt.grade, f.Grade, f.Says)
			assert.Contains(t, f.Says, tt.says)
			assert.Equal(t, tt.grade == Well, f.Remedy == "")
			assert.Equal(t, tt.grade != Well && tt.slack >= 0.01, strings.Contains(f.Remedy, "the rig was late itself"), f.Remedy)
			assert.InDelta(t, throttle, mean[plant.RearRight], 1e-9)
		})
	}
}

// spots is a person of whom is known what they say, by wheel.
type spots struct {
	saw    [4]Sight // 0: no answer
	refuse int      // the wheel that they do not let turn, counted from 1
	asked  []plant.Wheel
}

var errSilent = errors.New("nobody answers")

func (s *spots) Go(w plant.Wheel) error {
	s.asked = append(s.asked, w)
	if int(w) == s.refuse-1 {
		return errSilent
	}
	return nil
}

func (s *spots) Saw(w plant.Wheel) (Sight, error) {
	if s.saw[w] == 0 {
		return 0, errSilent
	}
	return s.saw[w], nil
}

func TestWhatWasSeenOfEachWheelDecides(t *testing.T) {
	right := [4]Sight{Forward, Forward, Forward, Forward}
	with := func(w plant.Wheel, s Sight) [4]Sight {
		all := right
		all[w] = s
		return all
	}
	well := Result{Check: "commands"}
	late := Result{Check: "commands", Grade: Warning, Says: "the rig was late"}
	outOfRange := Result{Check: "commands", Grade: Wrong, Says: "went to 30 %"}
	for _, tt := range []struct {
		name     string
		who      spots
		commands Result
		turns    int
		right    bool
		grade    Grade // of the result that is not well
		says     string
		remedy   string
	}{
		{"all forward", spots{saw: right}, well, 4, true, Well, "", ""},
		{"one backward", spots{saw: with(plant.FrontRight, Backward)}, well, 4, false, Wrong, "turns backward", "swap any two of a brushless motor's three leads"},
		{"one stands", spots{saw: with(plant.RearLeft, Motionless)}, well, 4, false, Wrong, "does not turn", "speed controller gets its supply"},
		{"a neighbour", spots{saw: with(plant.RearRight, Another)}, well, 4, false, Wrong, "another turns in its place", "the speed controller of its own wheel"},
		{"no answer at all", spots{refuse: 1}, well, 0, false, NotTried, "nobody answers", ""},
		{"no answer later", spots{saw: right, refuse: 3}, well, 2, false, NotTried, "nobody answers", ""},
		{"no answer afterwards", spots{saw: with(plant.FrontRight, 0)}, well, 2, false, NotTried, "nobody answers", ""},
		{"commands too large", spots{saw: right}, outOfRange, 1, false, Wrong, "went to 30 %", ""},
		{"the rig was late", spots{saw: right}, late, 4, true, Well, "", ""},
	} {
		t.Run(tt.name, func(t *testing.T) {
			var turned []plant.Wheel
			var not []Result
			got := TryRotation(&tt.who, func(w plant.Wheel) Result {
				turned = append(turned, w)
				assert.Equal(t, turned, tt.who.asked, "nothing turns that was not asked for before")
				return tt.commands
			}, func(f Result) {
				if f.Grade != Well && f.Grade != Warning {
					not = append(not, f)
				}
			})
			assert.Equal(t, tt.right, got)
			assert.Len(t, turned, tt.turns)
			if tt.grade == Well {
				assert.Empty(t, not)
				return
			}
			if assert.Len(t, not, 1) {
				assert.Equal(t, tt.grade, not[0].Grade)
				assert.Contains(t, not[0].Says, tt.says)
				assert.Contains(t, not[0].Remedy, tt.remedy)
			}
		})
	}
}
