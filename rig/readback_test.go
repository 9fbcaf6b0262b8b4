package rig_test

import (
	"context"
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"hilrig/rig"
	"hilrig/rig/signal"
	"hilrig/rig/simulated"
	"hilrig/rig/trace"
	"hilrig/stimulus"
	"hilrig/stimulus/wire"
)

// listener is a board that does nothing but keep every edge that reaches its pins.
type listener struct {
	layout signal.Layout
	edges  []signal.Edge
}

func (l *listener) Name() string { return "listener" }
func (l *listener) Run(in []signal.Edge, _ signal.Time, out []signal.Edge) ([]signal.Edge, error) {
	l.edges = append(l.edges, in...)
	return out, nil
}
func (l *listener) Restart(signal.Time) error { return nil }
func (l *listener) Close() error              { return nil }

// on returns the edges of one line, which alternate from its level at rest and
// do not go back in time.
func (l *listener) on(t testing.TB, name string) []signal.Edge {
	t.Helper()
	line, ok := l.layout.Line(name)
	require.True(t, ok, name)
	level := l.layout.Lines[line].Idle
	last := signal.Time(-1)
	var out []signal.Edge
	for _, e := range l.edges {
		if e.Line != line {
			continue
		}
		if e.Level == level || e.At <= last {
			t.Fatalf("%s: edge to %v at %v after %v at %v", name, e.Level, e.At, level, last)
		}
		level, last = e.Level, e.At
		out = append(out, e)
	}
	return out
}

// listen opens a rig whose board keeps what it hears.
func listen(t testing.TB, w rig.Wiring) (*rig.Rig, *listener) {
	l := &listener{layout: w.Layout()}
	bench, err := simulated.New(simulated.Settings{Layout: l.layout, Board: l})
	require.NoError(t, err)
	t.Cleanup(func() { assert.NoError(t, bench.Close()) })
	r, err := rig.New(bench, rig.Settings{Wiring: w, Car: car(), Seed: 3})
	require.NoError(t, err)
	return r, l
}

// heard plays p and returns its trace.
func heard(t testing.TB, r *rig.Rig, p *stimulus.Program) *trace.Trace {
	t.Helper()
	tr := &trace.Trace{}
	require.NoError(t, r.Play(context.Background(), p, tr))
	require.NoError(t, r.Play(context.Background(), stimulus.Held(stimulus.Values{}, 50*signal.Millisecond), nil))
	return tr
}

// mixed is a wiring with each kind of wheel sensor.
func mixed() rig.Wiring {
	w := wiring()
	w.Encoders[0] = wire.WheelSensor{Kind: wire.TachoWheel, Tacho: wire.Tacho{Pulses: 24}}
	w.Encoders[1] = wire.WheelSensor{Kind: wire.DutyWheel, Duty: wire.Duty{Period: 2 * signal.Millisecond, Least: 0.1, Most: 0.9, Steps: 4096}}
	w.Encoders[2].Quadrature.Index = true
	return w
}

func TestLayoutNamesTheLinesOfEachSensor(t *testing.T) {
	w := mixed()
	l := w.Layout()
	var names []string
	for _, line := range l.Lines {
		names = append(names, line.Name)
	}
	assert.Equal(t, []string{"steer", "throttle", "gain", "front_left_tacho", "front_right_duty",
		"rear_left_a", "rear_left_b", "rear_left_index", "rear_right_a", "rear_right_b", "yaw_serial",
		"motor_front_left", "motor_front_right", "motor_rear_left", "motor_rear_right"}, names)
}

// Two seconds at 5 m/s are 10 m, 185.2 rad of a wheel of 54 mm: what each kind of
// sensor says, read back from the board's pins.
func TestWheelSensorsReadBack(t *testing.T) {
	r, l := listen(t, mixed())
	p := stimulus.Held(stimulus.Values{Speed: 5}, 2*signal.Second)
	tr := heard(t, r, p)
	turns := 10 / 0.054 / (2 * math.Pi)

	tacho := l.on(t, "front_left_tacho")
	assert.InDelta(t, turns*24*2, float64(len(tacho)), 1)

	la, _ := l.layout.Line("rear_left_a")
	lb, _ := l.layout.Line("rear_left_b")
	c := counter{a: la, b: lb}
	for _, e := range l.edges {
		c.edge(e)
	}
	c.settle()
	assert.InDelta(t, turns*256*4, float64(c.count), 1)
	assert.Zero(t, c.illegal)
	index := l.on(t, "rear_left_index")
	assert.Equal(t, int(turns), len(index)/2, "once a turn")

	// The angle goes on by speed times period from pulse to pulse.
	var widths []float64
	duty := l.on(t, "front_right_duty")
	for i := 1; i < len(duty); i++ {
		if !duty[i].Level && duty[i].At < tr.Start+2*signal.Second-10*signal.Millisecond {
			widths = append(widths, (float64(duty[i].At-duty[i-1].At)/2e6-0.1)/0.8)
		}
	}
	require.Greater(t, len(widths), 900)
	total := 0.0
	for i := 1; i < len(widths); i++ {
		step := widths[i] - widths[i-1]
		step -= math.Round(step)
		assert.InDelta(t, 5/0.054*0.002/(2*math.Pi), step, 0.002, "a step of 1/4096 turn, with noise")
		total += step
	}
	assert.InDelta(t, turns*float64(len(widths)-1)/1000, total, 0.01, "the angle does not drift")
}

func TestDutySensorsCanBeLostAndStuck(t *testing.T) {
	for _, kind := range []stimulus.FaultKind{stimulus.Lost, stimulus.Stuck} {
		t.Run(kind.String(), func(t *testing.T) {
			r, l := listen(t, mixed())
			tr := heard(t, r, driven(stimulus.Fault{Kind: kind, Wire: "front_right"}))
			seen := map[signal.Time]bool{}
			pulses := 0
			edges := l.on(t, "front_right_duty")
			for i := 1; i < len(edges); i++ {
				if at := edges[i-1].At - tr.Start; !edges[i].Level && at >= faultFrom+2*signal.Millisecond && at < faultTo {
					seen[edges[i].At-edges[i-1].At] = true
					pulses++
				}
			}
			if kind == stimulus.Lost {
				assert.Zero(t, pulses)
			} else {
				assert.InDelta(t, 99, pulses, 1)
				assert.Len(t, seen, 1, "one width, to the bit")
			}
			assert.Greater(t, edges[len(edges)-1].At, tr.Start+faultTo+100*signal.Millisecond, "it comes back")
		})
	}
}
