package registers

import (
	"math/rand/v2"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"hilrig/rig/decode"
	"hilrig/rig/raspberry/realtime"
	"hilrig/rig/signal"
	"hilrig/rig/trace"
)

// Sound frames of a board, by a loop that turns in 0.23 us and that a kernel's tick of 2 to 5 us holds up a thousand
// times a second: what a tick hides is left out, and nothing is said to be the board's mistake. Times of a bit and the rule of
// the checksum are the published ones (derdoktor667/DShotRMT, README; READ).
func TestATickWithinAFrameIsNotTheBoardsMistake(t *testing.T) {
	for _, kind := range []decode.MotorKind{decode.DShot150, decode.DShot300, decode.DShot600} {
		t.Run(kind.String(), func(t *testing.T) {
			m := decode.Motor{Kind: kind, DShot: decode.DShot{Tolerance: 0.02}}
			d, err := m.New()
			require.NoError(t, err)
			d.Reset(0)
			layout := signal.Layout{Lines: []signal.LineSpec{signal.Spec(signal.Motor, signal.FrontLeft)}}
			s := sampler{mask: 1, captured: realtime.NewRing[signal.Edge](12)}
			s.limit(1, longestGaps(layout, []decode.MotorKind{kind})[0], true)
			s.allow(startUsual)
			length, _ := m.Times()
			bit := float64(length) / 16
			random := rand.New(rand.NewPCG(7, uint64(kind)))
			var out trace.Output
			var edges []signal.Edge
			now, tick, word, start := signal.Time(0), signal.Millisecond, 0, -signal.Second
			const frames = 4000
			for sent := 0; sent <= frames; {
				if now > start+length+20*us { // the next one
					value := (48 + random.IntN(2000)) << 1
					word, start = value<<4|(value^value>>4^value>>8)&0xF, now+30*us
					sent++
				}
				began := now + 90
				if began > tick {
					began += 2000 + signal.Time(random.Int64N(3000))
					tick += signal.Millisecond
				}
				level, looked := uint32(0), float64(began-start)+140*random.Float64()
				if i := int(looked / bit); looked >= 0 && i < 16 && looked-float64(i)*bit < bit*0.375*float64(1+word>>(15-i)&1) {
					level = 1
				}
				now = began + 140
				s.step(level, began, now)
				if random.IntN(20) == 0 {
					s.follow()
				}
				edges = appendUntil(s.captured, edges[:0], now)
				for _, e := range edges {
					d.Edge(e, &out)
				}
				d.Until(now, &out)
			}
			uncertain := 0
			for _, e := range out.Events {
				switch e.Kind {
				case trace.Settled:
				case trace.Uncertain:
					uncertain++
				default:
					assert.Fail(t, "a sound frame is blamed", "%v at %v", e.Kind, e.At)
				}
			}
			assert.NotZero(t, uncertain, "some ticks met a frame")
			assert.Greater(t, len(out.Frames), frames*8/10)
			t.Logf("%d of %d read, %d uncertain", len(out.Frames), frames, uncertain)
		})
	}
}
