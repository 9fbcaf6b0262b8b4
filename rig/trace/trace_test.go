package trace

import (
	"crypto/sha256"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"hilrig/rig/signal"
)

func TestEveryChannelHasItsOwnName(t *testing.T) {
	seen := map[string]Channel{}
	for c := range Channels {
		require.NotEmpty(t, c.String())
		_, double := seen[c.String()]
		require.False(t, double, "two channels are called %s", c)
		seen[c.String()] = c
		back, ok := ChannelNamed(c.String())
		assert.True(t, ok)
		assert.Equal(t, c, back)
	}
	_, ok := ChannelNamed("yaw")
	assert.False(t, ok)
}

func TestBetweenTakesFramesByTheirEnd(t *testing.T) {
	var o Output
	for i := range 10 {
		end := signal.Time(i+1) * 3 * signal.Millisecond
		o.Frames = append(o.Frames, Frame{Start: end - signal.Millisecond, End: end, Value: float64(i)})
	}
	got := o.Between(6*signal.Millisecond, 12*signal.Millisecond)
	require.Len(t, got, 2, "from is inside, to is not")
	assert.Equal(t, 1.0, got[0].Value)
	assert.Equal(t, 2.0, got[1].Value)
	assert.Empty(t, o.Between(signal.Second, 2*signal.Second))
	assert.Len(t, o.Between(0, signal.Second), 10)
	assert.Empty(t, o.Between(20*signal.Millisecond, 10*signal.Millisecond), "a span that ends before it begins")
}

func TestResetKeepsMemoryAndForgetsContent(t *testing.T) {
	var tr Trace
	fill := func() {
		tr.Reset(5, signal.Millisecond, 100)
		for i := range 100 {
			for c := range tr.Column {
				tr.Column[c] = append(tr.Column[c], float64(i))
			}
			tr.Motor[2].Frames = append(tr.Motor[2].Frames, Frame{End: signal.Time(i)})
		}
	}
	fill()
	assert.Zero(t, testing.AllocsPerRun(10, fill))
	assert.Equal(t, 100, tr.Rows())
	tr.Reset(0, signal.Millisecond, 100)
	assert.Zero(t, tr.Rows())
	assert.Empty(t, tr.Motor[2].Frames)
}

func TestHashSeesEveryPart(t *testing.T) {
	digest := func(change func(*Trace)) [32]byte {
		var tr Trace
		tr.Reset(1, 2, 3)
		for c := range tr.Column {
			tr.Column[c] = append(tr.Column[c], 1)
		}
		tr.Sent[SentYawRate] = append(tr.Sent[SentYawRate], Sent{Start: 1, End: 2, Value: 3})
		tr.Motor[1].Frames = append(tr.Motor[1].Frames, Frame{1, 2, 3, 4})
		tr.Motor[1].Events = append(tr.Motor[1].Events, Event{1, Lost})
		change(&tr)
		h := sha256.New()
		tr.Hash(h)
		return [32]byte(h.Sum(nil))
	}
	same := digest(func(*Trace) {})
	assert.Equal(t, same, digest(func(*Trace) {}))
	for name, change := range map[string]func(*Trace){
		"start":       func(t *Trace) { t.Start++ },
		"tick":        func(t *Trace) { t.Tick++ },
		"column":      func(t *Trace) { t.Column[PositionY][0] = 1.0000000000000002 },
		"rows":        func(t *Trace) { t.Column[Speed] = append(t.Column[Speed], 0) },
		"sent":        func(t *Trace) { t.Sent[SentYawRate][0].End++ },
		"bad":         func(t *Trace) { t.Sent[SentYawRate][0].Bad = true },
		"list":        func(t *Trace) { t.Sent[SentGain], t.Sent[SentYawRate] = t.Sent[SentYawRate], nil },
		"frame":       func(t *Trace) { t.Motor[1].Frames[0].Uncertainty = 5 },
		"event":       func(t *Trace) { t.Motor[1].Events[0].Kind = Corrupt },
		"motor":       func(t *Trace) { t.Motor[0], t.Motor[1] = t.Motor[1], t.Motor[0] },
		"late":        func(t *Trace) { t.Sent[SentYawRate][0].Late = 1 },
		"unsure":      func(t *Trace) { t.Sent[SentYawRate][0].EndUncertainty = 1 },
		"delay":       func(t *Trace) { t.Delays = append(t.Delays, Delay{1, 2, 3}) },
		"not sampled": func(t *Trace) { t.NotSampled = append(t.NotSampled, Span{1, 2}) },
		"no sent":     func(t *Trace) { t.Sent[SentYawRate] = nil },
	} {
		assert.NotEqual(t, same, digest(change), name)
	}
}
