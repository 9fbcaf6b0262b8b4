//go:build linux

package chardev

import (
	"runtime"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"hilrig/rig/raspberry/realtime"
	"hilrig/rig/signal"
)

// charStepped is a bench on the character device whose player has ended, to be stepped
// by hand.
func charStepped(t testing.TB) (*Bench, *fakeChip) {
	b, chip := openFake(t, nil)
	b.on.output.do(true, func(signal.Time) {})
	t.Cleanup(func() { // closing asks the edge output once more
		go b.on.output.run(realtime.Scheduling{}, make(chan []string, 1))
	})
	return b, chip
}

func TestLateEdgesOfAnEncoderKeepTheirDistanceByCalls(t *testing.T) {
	for _, tt := range []struct {
		name           string
		planned, apart signal.Time
	}{
		{"close", 8 * us, 4 * us},
		{"far", 100 * us, 5 * us},
	} {
		t.Run(tt.name, func(t *testing.T) {
			b, chip := charStepped(t)
			t0 := b.Present() + signal.Second
			require.NoError(t, b.Drive([]signal.Edge{
				{At: t0, Line: 3, Level: true}, {At: t0 + tt.planned, Line: 4, Level: true},
			}, t0+ms))
			b.on.output.step(t0 - 1)
			assert.False(t, chip.high(5), "not before its time")
			now := t0 + 300*us // the edge output's own clock, which it stamps with
			b.on.output.clock = func() signal.Time { return now }
			b.on.output.step(now)
			assert.True(t, chip.high(5))
			assert.False(t, chip.high(6))
			assert.Equal(t, now+tt.apart, b.on.output.next())
			b.on.output.step(now + tt.apart - 1)
			assert.False(t, chip.high(6), "it has to wait")
			b.on.output.step(now + tt.apart)
			assert.True(t, chip.high(6))
		})
	}
}

func TestSafeDropsWhatWaitsForACall(t *testing.T) {
	b, chip := charStepped(t)
	t0 := b.Present() + signal.Second
	require.NoError(t, b.Drive([]signal.Edge{
		{At: t0, Line: 0, Level: true}, {At: t0 + ms, Line: 3, Level: true}, {At: t0 + 2*ms, Line: 0},
	}, t0+3*ms))
	b.on.output.step(t0)
	require.True(t, chip.high(17))
	go func() { // in the edge output's place
		for !b.on.output.Waiting() {
			runtime.Gosched()
		}
		b.on.output.Serve(t0 + ms/2)
	}()
	require.NoError(t, b.Safe())
	calls := len(chip.calls())
	for at := t0; at < t0+10*ms; at += 100 * us {
		b.on.output.step(at)
	}
	assert.Len(t, chip.calls(), calls, "nothing more is put out")
	for _, offset := range []uint32{5, 6, 17} {
		assert.False(t, chip.high(offset))
	}
	for _, q := range b.on.output.queues {
		assert.True(t, q.Empty())
	}
}
