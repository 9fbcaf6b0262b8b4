package registers

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"hilrig/rig/signal"
)

// A machine that keeps time bears pulses, and one that does not is recognised by its numbers.
func TestWhetherPulsesAreBorneIsMeasured(t *testing.T) {
	often := func(every, length signal.Time) (stalls []Stall) {
		for at := every; at < signal.Second; at += every {
			stalls = append(stalls, Stall{at, length})
		}
		return stalls
	}
	for _, c := range []struct {
		name   string
		stalls []Stall
		bears  bool
		says   string
	}{
		{"nothing", nil, true, "99.99 % of gaps within 0.2 us, 0 a second over 200 us, the longest 0.0002 ms; 99 % of edges at most 0.000223 ms"},
		{"interrupts", often(ms, 20*us), true, "0 a second over 200 us, the longest 0.0202 ms"},
		{"a few long gaps", often(100*ms, ms), true, "9 a second over 200 us, the longest 1 ms"},
		{"many long gaps", often(20*ms, ms), false, "49 a second over 200 us, the longest 1 ms"},
		{"late", often(100*ms, 15*ms), false, "9 a second over 200 us, the longest 15 ms; 99 % of edges at most "},
	} {
		t.Run(c.name, func(t *testing.T) {
			turns := turnsOfATest()
			turns.Stalls = c.stalls
			k, err := TimingTrial{Time: turns, PinBank: &Memory{}, For: signal.Second, Edges: 100e3}.Run(t.Context())
			require.NoError(t, err)
			assert.Equal(t, c.bears, k.BearsPulses(), k.Brief())
			assert.Contains(t, k.Brief(), c.says)
		})
	}
}
