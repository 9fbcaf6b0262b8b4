package preflight

import (
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"hilrig/rig/raspberry/pinout"
	"hilrig/rig/signal"
)

// wired is a bench with lines of every kind, on pins.
func wired(t *testing.T) *pinout.Wires {
	t.Helper()
	w := pinout.Wires{Layout: signal.Layout{
		Lines: []signal.LineSpec{{Name: "steer", Role: signal.SteerPulse}, {Name: "throttle", Role: signal.ThrottlePulse}, {Name: "front_left_a", Role: signal.EncoderA, Wheel: signal.FrontLeft}, {Name: "front_left_b", Role: signal.EncoderB, Wheel: signal.FrontLeft}, {Name: "rear_left_tacho", Idle: true, Role: signal.Tacho, Wheel: signal.RearLeft},
			{Name: "yaw_serial", Idle: true, Role: signal.SerialData}, {Name: "motor_front_left", Direction: signal.Capture, Role: signal.Motor, Wheel: signal.FrontLeft}, {Name: "motor_rear_left", Direction: signal.Capture, Role: signal.Motor, Wheel: signal.RearLeft}},
		Ports: []signal.PortSpec{{Name: "yaw_serial", Line: 5, Baud: 115200}},
	}, Reset: "line"}
	w, _, err := w.Propose()
	require.NoError(t, err)
	return &w
}

// bit is a line's bit in a bank.
func bit(w *pinout.Wires, name string) uint32 {
	switch name {
	case "relay":
		return 1 << w.Relay
	case "heartbeat":
		return 1 << w.Heartbeat
	}
	return 1 << w.Pins[name]
}

// Each row gives one line a fault, and the check of that line finds it.
func TestPinsFindWhatHoldsALine(t *testing.T) {
	tests := []struct {
		name, wrong, says string
		fault             func(*Rehearsal, *pinout.Wires)
	}{
		{"all well", "", "", func(*Rehearsal, *pinout.Wires) {}},
		{"a sensor's line to ground", "front_left_a", "is low where high is asked for", func(r *Rehearsal, w *pinout.Wires) { r.heldLow(bit(w, "front_left_a")) }},
		{"a sensor's line to the supply", "front_left_b", "is high where low is asked for", func(r *Rehearsal, w *pinout.Wires) { r.heldHigh(bit(w, "front_left_b")) }},
		{"one that rests high, to ground", "rear_left_tacho", "is low where high is asked for", func(r *Rehearsal, w *pinout.Wires) { r.heldLow(bit(w, "rear_left_tacho")) }},
		{"the throttle to the supply", "throttle", "is high where low is asked for", func(r *Rehearsal, w *pinout.Wires) { r.heldHigh(bit(w, "throttle")) }},
		{"the relay to the supply", "relay", "is high where low is asked for", func(r *Rehearsal, w *pinout.Wires) { r.heldHigh(bit(w, "relay")) }},
		{"a bridge", "front_left_a front_left_b", "moves front_left_b (GPIO6) as well", func(r *Rehearsal, w *pinout.Wires) {
			r.bridge(w.Pins["front_left_a"], w.Pins["front_left_b"])
		}},
		{"a bridge to a line that means go", "front_left_a", "moves steer (GPIO23) as well", func(r *Rehearsal, w *pinout.Wires) {
			r.bridge(w.Pins["front_left_a"], w.Pins["steer"])
		}},
		{"another program has it", "heartbeat", "busy", func(r *Rehearsal, w *pinout.Wires) { r.busy = bit(w, "heartbeat") }},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			w := wired(t)
			r := &goWatch{Rehearsal: NewRehearsal(w), t: t, forbidden: bit(w, "steer") | bit(w, "throttle") | bit(w, "relay") | bit(w, "heartbeat") | bit(w, "yaw_serial") | bit(w, "reset")}
			tt.fault(r.Rehearsal, w)
			found := TryPins(r, w)
			assert.Len(t, found, 9, "each wire once, save those that are read")
			assert.Equal(t, tt.wrong, grades(found, Wrong))
			assert.Equal(t, "yaw_serial reset", grades(found, NotTried))
			for _, f := range found {
				if f.Grade == Wrong {
					assert.Contains(t, f.Says, tt.says)
					break
				}
			}
			for _, name := range []string{"steer", "throttle", "front_left_a", "front_left_b", "relay"} {
				assert.Zero(t, r.asked&bit(w, name), "%s ends safe", name)
			}
			assert.NotZero(t, r.asked&bit(w, "rear_left_tacho"), "and so does one that rests high")
		})
	}
}

// goWatch fails where a line that means go is made high, or one that is left to
// others is touched.
type goWatch struct {
	*Rehearsal
	t         *testing.T
	forbidden uint32
}

func (g *goWatch) Output(gpio int, level bool) error {
	assert.False(g.t, level && g.forbidden>>gpio&1 == 1, "GPIO%d is made high", gpio)
	return g.Rehearsal.Output(gpio, level)
}

func (g *goWatch) Write(gpio int, level bool) error {
	assert.False(g.t, g.forbidden>>gpio&1 == 1, "GPIO%d is written", gpio)
	return g.Rehearsal.Write(gpio, level)
}

// latching is a rehearsal with a line that stays at the level it is first moved to.
type latching struct {
	*Rehearsal
	gpio  int
	moved bool
}

func (l *latching) Write(gpio int, level bool) error {
	if gpio != l.gpio || level == (l.asked>>gpio&1 == 1) {
		return l.Rehearsal.Write(gpio, level)
	}
	if l.moved {
		return nil
	}
	l.moved = true
	return l.Rehearsal.Write(gpio, level)
}

func TestPinsFindALineThatDoesNotComeBack(t *testing.T) {
	w := wired(t)
	found := TryPins(&latching{Rehearsal: NewRehearsal(w), gpio: w.Pins["front_left_b"]}, w)
	assert.Equal(t, "front_left_b", grades(found, Wrong))
}

func TestLoopbackFindsWhereJumpersLead(t *testing.T) {
	pin := func(w *pinout.Wires, name string) int { return w.Pins[name] }
	tests := []struct {
		name                  string
		jumpers               [][2]string
		fault                 func(*Rehearsal, *pinout.Wires)
		wrong, notTried, says string
		table                 []string
	}{
		{name: "two jumpers", jumpers: [][2]string{{"front_left_a", "motor_front_left"}, {"rear_left_tacho", "motor_rear_left"}},
			table: []string{"front_left_a motor_front_left", "rear_left_tacho motor_rear_left"}},
		{name: "crossed", jumpers: [][2]string{{"front_left_a", "motor_rear_left"}, {"rear_left_tacho", "motor_front_left"}},
			table: []string{"front_left_a motor_rear_left", "rear_left_tacho motor_front_left"}},
		{name: "one is missing", jumpers: [][2]string{{"front_left_b", "motor_rear_left"}}, notTried: "motor_front_left", table: []string{"front_left_b motor_rear_left"}},
		{name: "both are missing", wrong: "jumpers", notTried: "motor_front_left motor_rear_left"},
		{name: "broken", jumpers: [][2]string{{"front_left_a", "motor_front_left"}}, wrong: "jumpers", notTried: "motor_front_left motor_rear_left",
			fault: func(r *Rehearsal, w *pinout.Wires) { r.heldLow(bit(w, "motor_front_left")) }},
		{name: "two into one", jumpers: [][2]string{{"front_left_a", "motor_front_left"}, {"front_left_b", "motor_front_left"}}, wrong: "motor_front_left", notTried: "motor_rear_left",
			table: []string{"front_left_a motor_front_left", "front_left_b motor_front_left"}},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			w := wired(t)
			r := NewRehearsal(w)
			for _, j := range tt.jumpers {
				r.Jump(pin(w, j[0]), pin(w, j[1]))
			}
			if tt.fault != nil {
				tt.fault(r, w)
			}
			found, jumpers := Loopback(r, w)
			assert.Equal(t, tt.wrong, grades(found, Wrong))
			assert.Equal(t, tt.notTried, grades(found, NotTried))
			var table []string
			for _, j := range jumpers {
				table = append(table, j.From.Signal+" "+j.To.Signal)
			}
			assert.Equal(t, tt.table, table)
			assert.Zero(t, r.output&(bit(w, "motor_front_left")|bit(w, "motor_rear_left")|bit(w, "throttle")), "captured lines stay inputs, and what means go is not touched")
		})
	}
}

// withBoard is a rehearsal with a board that moves a captured line.
type withBoard struct {
	*Rehearsal
	began time.Time
	gpio  int
}

func (b *withBoard) Read(gpio int) (bool, error) {
	if gpio == b.gpio {
		return time.Since(b.began)/(3*time.Millisecond)%2 == 1, nil
	}
	return b.Rehearsal.Read(gpio)
}

func TestLoopbackDrivesNothingAgainstABoard(t *testing.T) {
	w := wired(t)
	r := &withBoard{NewRehearsal(w), time.Now(), w.Pins["motor_rear_left"]}
	found, jumpers := Loopback(r, w)
	assert.Equal(t, "motor_rear_left", grades(found, Wrong))
	assert.Empty(t, jumpers)
	assert.Zero(t, r.output)
}
