package registers

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"hilrig/rig/signal"
)

// After a stall the edges of one encoder are put out half as far apart as planned, and no
// closer than 5 us where they were planned far apart: a board's input filter sees each.
func TestLateEdgesOfAnEncoderKeepTheirDistance(t *testing.T) {
	const us = signal.Microsecond
	for _, tt := range []struct {
		name           string
		planned, apart signal.Time
	}{
		{"close", 8 * us, 4 * us},
		{"far", 100 * us, 5 * us},
	} {
		t.Run(tt.name, func(t *testing.T) {
			bench, m := stepped(t, signal.PortSpec{Name: "yaw_serial", Baud: 115200})
			p := &bench.on.loop.output
			a, bitA := line(t, bench.Layout(), "rear_right_a")
			b, bitB := line(t, bench.Layout(), "rear_right_b")
			t0 := bench.on.clock.now() + signal.Second
			require.NoError(t, bench.Drive([]signal.Edge{
				{At: t0, Line: a, Level: true}, {At: t0 + tt.planned, Line: b, Level: true}, {At: t0 + 2*tt.planned, Line: a},
			}, t0+signal.Millisecond))
			shown := func() uint32 { return m.Level() & (bitA | bitB) }
			late := t0 + 300*us
			p.step(m, t0-1)
			assert.Zero(t, shown(), "not before its time")
			p.step(m, late)
			assert.Equal(t, bitA, shown())
			p.step(m, late+tt.apart-1)
			assert.Equal(t, bitA, shown(), "the second has to wait")
			p.step(m, late+tt.apart)
			assert.Equal(t, bitA|bitB, shown())
			p.step(m, late+2*tt.apart-1)
			assert.Equal(t, bitA|bitB, shown(), "and so has the third")
			p.step(m, late+2*tt.apart)
			assert.Equal(t, bitB, shown())
		})
	}
}

// A line that is none of the encoder's waits for nobody.
func TestLateEdgesOfOtherLinesDoNotWait(t *testing.T) {
	const us = signal.Microsecond
	bench, m := stepped(t, signal.PortSpec{Name: "yaw_serial", Baud: 115200})
	p := &bench.on.loop.output
	a, bitA := line(t, bench.Layout(), "rear_right_a")
	b, bitB := line(t, bench.Layout(), "rear_left_a")
	t0 := bench.on.clock.now() + signal.Second
	require.NoError(t, bench.Drive([]signal.Edge{{At: t0, Line: a, Level: true}, {At: t0 + 8*us, Line: b, Level: true}}, t0+20*us))
	p.step(m, t0+300*us)
	p.step(m, t0+300*us+1)
	assert.Equal(t, bitA|bitB, m.Level()&(bitA|bitB))
}

// What was handed over before the bench was made safe is never put out.
func TestSafeDropsWhatWaits(t *testing.T) {
	const ms = signal.Millisecond
	bench, m := stepped(t, signal.PortSpec{Name: "yaw_serial", Baud: 115200})
	p := &bench.on.loop.output
	steer, bit := line(t, bench.Layout(), "steer")
	throttle, other := line(t, bench.Layout(), "throttle")
	_, idle := line(t, bench.Layout(), "yaw_serial")
	t0 := bench.on.clock.now() + signal.Second
	require.NoError(t, bench.Drive([]signal.Edge{
		{At: t0, Line: steer, Level: true}, {At: t0 + ms, Line: throttle, Level: true}, {At: t0 + 2*ms, Line: steer},
	}, t0+3*ms))
	_, err := bench.Send(0, t0+ms, []byte{0})
	require.NoError(t, err)
	p.step(m, t0)
	require.NotZero(t, m.Level()&bit)

	require.NoError(t, bench.Safe())
	assert.Equal(t, idle, m.Level()&(bit|other|idle), "at rest")
	for _, q := range p.queues {
		assert.True(t, q.Empty(), "nothing waits")
	}
	for at := t0; at < t0+10*ms; at += 10 * signal.Microsecond {
		p.step(m, at)
		require.Equal(t, idle, m.Level()&(bit|other|idle), "%v after the first edge", at-t0)
	}
	assert.EqualValues(t, 1, p.late.Count, "one was played, before")
	require.NoError(t, bench.Drive([]signal.Edge{{At: t0 + 20*ms, Line: steer, Level: true}}, t0+20*ms), "it goes on from rest")
	p.step(m, t0+20*ms)
	assert.NotZero(t, m.Level()&bit)
}
