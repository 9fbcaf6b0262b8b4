package decode_test

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"hilrig/rig/decode"
	"hilrig/rig/signal"
	"hilrig/rig/trace"
)

func TestMotor(t *testing.T) {
	pulse := decode.Motor{Servo: oneWay()}
	neutral := decode.Motor{Servo: decode.Servo{Idle: 1500 * us, Full: 2000 * us, WithNeutral: true, Inverted: true}}
	for _, row := range []struct {
		name              string
		motor             decode.Motor
		step, lowest      float64
		inverted          bool
		shortest, longest signal.Time
		format            string
	}{
		{"servo pulse", pulse, 0.001, 0, false, 1000 * us, 2000 * us, "servo_pulse 1000 to 2000 us"},
		{"with a neutral", neutral, 0.002, -1, true, 1000 * us, 2000 * us, "servo_pulse 1500 to 2000 us, inverted, two directions"},
		{"an eighth", decode.Motor{Kind: decode.OneShot125}, 0.001, 0, false, 125 * us, 250 * us, "oneshot125 125 to 250 us"},
		{"an eighth with a neutral", decode.Motor{Kind: decode.OneShot125, Servo: decode.Servo{WithNeutral: true}}, 0.002, -1, false, 125 * us, 250 * us, "oneshot125 187.5 to 250 us, two directions"},
		{"150", decode.Motor{Kind: decode.DShot150}, 1.0 / 1999, 0, false, 106_666, 106_666, "dshot150"},
		{"300, both ways", decode.Motor{Kind: decode.DShot300, DShot: decode.DShot{TwoDirection: true}}, 1.0 / 999, -1, false, 53_333, 53_333, "dshot300, two directions"},
		{"600, inverted", decode.Motor{Kind: decode.DShot600, DShot: decode.DShot{Inverted: true}}, 1.0 / 1999, 0, true, 26_666, 26_666, "dshot600, inverted"},
	} {
		t.Run(row.name, func(t *testing.T) {
			assert.InDelta(t, row.step, row.motor.CommandStep(), 1e-12)
			assert.Equal(t, row.lowest, row.motor.Lowest())
			assert.Equal(t, row.inverted, row.motor.Inverted())
			shortest, longest := row.motor.Times()
			assert.Equal(t, row.shortest, shortest)
			assert.Equal(t, row.longest, longest)
			assert.Equal(t, row.format, row.motor.Format())
			_, err := row.motor.New()
			assert.NoError(t, err)
			kind, ok := decode.MotorKindNamed(row.motor.Kind.String())
			assert.True(t, ok)
			assert.Equal(t, row.motor.Kind, kind)
		})
	}
	_, ok := decode.MotorKindNamed("dshot1200")
	assert.False(t, ok)
	_, err := decode.Motor{Kind: decode.MotorKinds}.New()
	assert.ErrorContains(t, err, "motor kind 5 is not known; use one of [servo_pulse")
	_, err = decode.Motor{}.New()
	assert.ErrorContains(t, err, "two different widths")
}

// OneShot125 is 125 to 250 us (READ: documentation of flight controller firmware,
// betaflight/betaflight.com); its limits are our own.
func TestOneShot125(t *testing.T) {
	for _, row := range []struct {
		name  string
		width signal.Time
		want  float64
		event []trace.EventKind
	}{
		{"idle", 125 * us, 0, nil},
		{"full", 250 * us, 1, nil},
		{"half", 187_500, 0.5, nil},
		{"short", 99 * us, 0, []trace.EventKind{trace.Short}},
		{"overlong", 301 * us, 0, []trace.EventKind{trace.Overlong}},
		{"a servo pulse", 1500 * us, 0, []trace.EventKind{trace.Overlong}},
	} {
		t.Run(row.name, func(t *testing.T) {
			d, err := decode.Motor{Kind: decode.OneShot125}.New()
			require.NoError(t, err)
			var out trace.Output
			d.Reset(0)
			d.Edge(rise(ms, 0), &out)
			d.Edge(fall(ms+row.width, 0), &out)
			assert.Equal(t, row.event, kinds(out.Events))
			if row.event != nil {
				assert.Empty(t, out.Frames)
				return
			}
			require.Len(t, out.Frames, 1)
			assert.InDelta(t, row.want, out.Frames[0].Value, 1e-12)
		})
	}
}

// Edges as a kernel stamps them, 3 us uncertain each: such a pulse is read, with its
// uncertainty; one that is 4 us uncertain is not.
func TestOneShot125ByStamps(t *testing.T) {
	for _, row := range []struct {
		name        string
		neutral     bool
		value, each float64
	}{{"one way", false, 0.6, 0.024}, {"with a neutral", true, 0.2, 0.048}} {
		t.Run(row.name, func(t *testing.T) {
			d, err := decode.Motor{Kind: decode.OneShot125, Servo: decode.Servo{WithNeutral: row.neutral}}.New()
			require.NoError(t, err)
			var out trace.Output
			d.Reset(0)
			d.Edge(rise(ms, 3000), &out)
			d.Edge(fall(1200*us, 3000), &out)
			d.Edge(rise(2*ms, 4000), &out)
			d.Edge(fall(2200*us, 4000), &out)
			require.Len(t, out.Frames, 1)
			assert.InDelta(t, row.value, out.Frames[0].Value, 1e-12)
			assert.InDelta(t, row.each, out.Frames[0].Uncertainty, 1e-12)
			assert.Equal(t, []trace.EventKind{trace.Uncertain}, kinds(out.Events))
		})
	}
}

// A gap of the sampler in a pulse makes it uncertain, in a rest it does not; and
// the time of a gap is not one in which a pulse was missed.
func TestServoGap(t *testing.T) {
	gap := func(at signal.Time, late uint32, level bool) signal.Edge {
		return signal.Edge{At: at, Uncertainty: late, Level: level}
	}
	d := servo(t, oneWay())
	d.Reset(0)
	var out trace.Output
	for _, e := range []signal.Edge{
		rise(ms, 0), gap(1500*us, 300_000, true), fall(2500*us, 0),
		gap(5*ms, 300_000, false), rise(10*ms, 0), fall(11500*us, 0),
	} {
		d.Edge(e, &out)
	}
	assert.Equal(t, []trace.Event{{At: 2500 * us, Kind: trace.Uncertain}}, out.Events)
	require.Len(t, out.Frames, 1)
	assert.InDelta(t, 0.5, out.Frames[0].Value, 1e-12)
	d.Edge(gap(60*ms, 40_000_000, false), &out)
	d.Until(151*ms, &out)
	assert.Len(t, out.Events, 1, "100 ms, 40 of them unseen")
	d.Until(152*ms, &out)
	assert.Equal(t, trace.Event{At: 151500 * us, Kind: trace.Lost}, out.Events[1])
}
