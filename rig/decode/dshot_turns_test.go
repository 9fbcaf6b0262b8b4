package decode_test

import (
	"fmt"
	"math"
	"math/rand/v2"
	"slices"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"hilrig/rig/decode"
	"hilrig/rig/signal"
	"hilrig/rig/trace"
)

// looking is a loop that reads a line over and over, as rig/raspberry/registers does: an edge is stamped with
// the end of the first read that shows it, and lies behind the beginning of the read before.
type looking struct {
	turn   float64 // ns, from one read to the next
	jitter float64 // by which share of turn each is longer or shorter, evenly
}

// readShare is how much of a turn the read takes: 0.115 to 0.175 us of 0.20 to 0.29 us are reckoned on a Pi 4.
const readShare = 0.6

// sending is a board at a rate in kbit/s whose times of a bit are off by the share off of a bit at most.
type sending struct {
	rate int
	off  float64
}

// frame returns when the levels of a frame change, from start on, in ns: rising edges are off their grid by a tenth
// of the tolerance, a clock is off by what that leaves of it, and pulses by what both leave.
func (b sending) frame(random *rand.Rand, word uint32, start float64) (changes [32]float64) {
	nominal := 1e6 / float64(b.rate)
	within := func(x float64) float64 { return x * (2*random.Float64() - 1) * 0.999 }
	const offGrid, offClock = 0.1, 0.8
	clock := 1 + within(offClock*b.off)
	zero := nominal * (0.375*clock + within(b.off*(1-offGrid-offClock*0.375)))
	one := nominal * (0.75*clock + within(b.off*(1-offGrid-offClock*0.75)))
	for i := range 16 {
		at := start + float64(i)*nominal*clock
		high := zero
		if word>>(15-i)&1 == 1 {
			high = one
		}
		changes[2*i], changes[2*i+1] = at+within(offGrid*b.off*nominal), at+high
	}
	return changes
}

// outcome is what became of frames.
type outcome struct {
	sent            int
	read, settled   int // with the value that was sent: no bit open; one settled by the checksum
	taken, mistaken int // with any, though a bit was flipped on the wire, or with another value: no bit open; settled
	uncertain       int // left out
	blamed          int // said to be the board's mistake
}

// share returns n as a share of what was sent, %.
func (o *outcome) share(n int) float64 { return 100 * float64(n) / float64(o.sent) }

// add adds what became of other frames.
func (o *outcome) add(x *outcome) {
	o.sent += x.sent
	o.read += x.read
	o.settled += x.settled
	o.taken += x.taken
	o.mistaken += x.mistaken
	o.uncertain += x.uncertain
	o.blamed += x.blamed
}

// sendFrames sends n frames, of each one bit flipped on the wire where flip is set, and reads them.
func sendFrames(t testing.TB, b sending, l looking, n int, flip bool, seed uint64) (o outcome) {
	random := rand.New(rand.NewPCG(seed, uint64(b.rate)))
	d := dshot(t, decode.DShot{Rate: b.rate, Tolerance: b.off})
	var out trace.Output
	now, level := 0.0, false
	for range n {
		value := 48 + random.Uint32N(2000)
		word := telling(value, random.Uint32N(2))
		if flip {
			word ^= 1 << random.IntN(16)
		}
		start := now + 20e3 + 1e3*random.Float64()
		changes := b.frame(random, word, start)
		now = start - 3*l.turn*(1+random.Float64())
		next := 0
		for over := changes[31] + 3e6/float64(b.rate); now < over; {
			began := now
			turn := l.turn * (1 + l.jitter*(2*random.Float64()-1))
			now += turn
			looked := now + random.Float64()*readShare*turn
			for next < 32 && changes[next] <= looked {
				next++
			}
			if is := next&1 != 0; is != level {
				level = is
				at := math.Ceil(now + readShare*turn)
				d.Edge(signal.Edge{At: signal.Time(at), Uncertainty: uint32(math.Ceil(at - began)), Level: is}, &out)
			}
		}
		d.Until(signal.Time(now), &out)
		o.take(&out, float64(value-48)/1999, flip)
		out.Frames, out.Events = out.Frames[:0], out.Events[:0]
	}
	return o
}

// take counts what came of one frame.
func (o *outcome) take(out *trace.Output, value float64, flipped bool) {
	o.sent++
	settled := slices.Contains(kinds(out.Events), trace.Settled)
	for _, f := range out.Frames {
		right := f.Value == value && !flipped
		switch {
		case right && settled:
			o.settled++
		case right:
			o.read++
		case settled:
			o.mistaken++
		default:
			o.taken++
		}
	}
	for _, e := range out.Events {
		switch e.Kind {
		case trace.Settled:
		case trace.Uncertain:
			o.uncertain++
		default:
			o.blamed++
		}
	}
}

// turnsOf are those of the table, in ns.
var turnsOf = []float64{120, 160, 200, 240, 280, 320, 360, 400}

// turnTable is a table over the turns of the loop, with a row for each format, tolerance and jitter.
type turnTable struct {
	n    int // frames of each place
	flip bool
	sum  outcome
	text strings.Builder
}

// make sends the frames of each place and writes what place makes of them.
func (x *turnTable) make(t testing.TB, place func(b sending, l looking, o *outcome) string) {
	x.text.WriteString("| at a turn of | jitter |")
	for _, turn := range turnsOf {
		fmt.Fprintf(&x.text, " %g ns |", turn)
	}
	x.text.WriteString("\n|---|---|" + strings.Repeat("---|", len(turnsOf)) + "\n")
	seed := uint64(0)
	for _, rate := range []int{150, 300, 600} {
		for _, off := range []float64{0.02, 0.1} {
			for _, jitter := range []float64{0.02, 0.15} {
				b := sending{rate, off}
				fmt.Fprintf(&x.text, "| DShot%d, bit times within %g %% | %g %% |", b.rate, 100*b.off, 100*jitter)
				for _, turn := range turnsOf {
					seed++
					l := looking{turn, jitter}
					o := sendFrames(t, b, l, x.n, x.flip, seed)
					x.sum.add(&o)
					x.text.WriteString(" " + place(b, l, &o) + " |")
				}
				x.text.WriteString("\n")
			}
		}
	}
}

// framesRead plays well-formed frames: whatever is read is what was sent, and nothing is said to be wrong with any.
func framesRead(t *testing.T, n int) *turnTable {
	x := &turnTable{n: n}
	x.make(t, func(b sending, l looking, o *outcome) string {
		require.Zero(t, o.taken+o.mistaken, "%+v %+v %+v", b, l, o)
		require.Zero(t, o.blamed, "%+v %+v %+v", b, l, o)
		if least := 100 * leastRead(b, l.turn); o.share(o.read+o.settled) < least {
			assert.Fail(t, "too few are read", "%+v %+v %+v, and %g %% are wanted", b, l, o, least)
		}
		return fmt.Sprintf("%.1f (%.1f)", o.share(o.read+o.settled), o.share(o.settled))
	})
	t.Logf("%% of well-formed frames read, in brackets of all those settled by CRC\n%s%+v", x.text.String(), x.sum)
	return x
}

// leastRead is which share of frames has to be read, with some room for a small sample.
func leastRead(b sending, turn float64) float64 {
	switch {
	case b.rate == 150 || b.rate == 300 && b.off == 0.02:
		return 1
	case b.rate == 300:
		return map[bool]float64{true: 0.97, false: 0.84}[turn <= 320]
	case b.off == 0.02 && turn <= 280:
		return 0.85
	case b.off == 0.1 && turn <= 200:
		return 0.84
	}
	return 0
}

// framesFlipped plays frames of which one bit is flipped on the wire: none is taken unless a bit of it was left open
// and settled by the checksum, which then can find nothing else.
func framesFlipped(t *testing.T, n int) *turnTable {
	x := &turnTable{n: n, flip: true}
	x.make(t, func(b sending, l looking, o *outcome) string {
		require.Zero(t, o.taken, "%+v %+v %+v", b, l, o)
		return fmt.Sprintf("%.1f (%.2f)", o.share(o.blamed), o.share(o.mistaken))
	})
	t.Logf("%% of frames with a flipped bit said to be corrupt, in brackets those taken as a bit was settled by CRC\n%s%+v", x.text.String(), x.sum)
	return x
}

func TestFramesByTurnOfTheLoop(t *testing.T) {
	x := framesRead(t, 150)
	assert.NotZero(t, x.sum.settled)
	assert.NotZero(t, x.sum.uncertain, "a slow loop leaves some open")
}

func TestFlippedFramesByTurnOfTheLoop(t *testing.T) {
	x := framesFlipped(t, 150)
	assert.NotZero(t, x.sum.blamed)
	assert.NotZero(t, x.sum.mistaken, "a checksum that settles a bit proves nothing")
}

// At the fineness that a format needs nearly all frames are read, and a quarter beyond it most still are.
func TestFinenessIsTheDecoders(t *testing.T) {
	for _, rate := range []int{150, 300, 600} {
		for _, off := range []float64{0.02, 0.1} {
			for _, jitter := range []float64{0.02, 0.15} {
				b := sending{rate, off}
				turn := float64(decode.DShot{Rate: rate, Tolerance: off}.Fineness()) / (1 + readShare)
				o := sendFrames(t, b, looking{turn, jitter}, 500, false, 5)
				assert.Greater(t, o.share(o.read+o.settled), 93.0, "%+v %g", b, jitter)
				o = sendFrames(t, b, looking{1.25 * turn, jitter}, 500, false, 6)
				assert.Greater(t, o.share(o.read+o.settled), 55.0, "%+v %g", b, jitter)
				assert.Less(t, o.share(o.read+o.settled), 95.0, "%+v %g", b, jitter)
			}
		}
	}
}
