//go:build linux && gpiovm

package cdev

import (
	"runtime"
	"runtime/debug"
	"slices"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"golang.org/x/sys/unix"
)

// until keeps the processor until the clock reads at: a sleep would end late by
// a wake-up, some 10 us here.
func until(at int64) {
	for Now() < at {
	}
}

// drain reads all events that wait.
func drain(t *testing.T, in *Inputs) (all []Event, reads int) {
	t.Helper()
	var some [2 * MostEvents]Event
	for {
		n, err := in.Read(some[:])
		require.NoError(t, err)
		if n == 0 {
			return all, reads
		}
		all = append(all, some[:n]...)
		reads++
	}
}

// pulled is one pull, with the clock read before and after: the edge lies
// within.
type pulled struct{ from, to int64 }

func (s *simulated) pullAt(at int64, line uint32, high bool) pulled {
	until(at)
	from := Now()
	s.pull(line, high)
	return pulled{from, Now()}
}

// The width of a pulse, by the kernel's stamps, against the clock around both
// pulls: it is as wide as the pulls began apart. Now and then the scheduler's tick
// breaks into a pull and moves its edge: the bound of 1 us is for the others, reported
// by the clock alone. It is ours, a thousandth of the span of a servo pulse (1000 us, common
// practice, no source), and holds where the machine's instructions are counted.
func TestThePulsesWidthIsThatOfTheStamps(t *testing.T) {
	runtime.LockOSThread()
	defer runtime.UnlockOSThread()
	defer debug.SetGCPercent(debug.SetGCPercent(-1))
	s := simulate(t, 8)
	in, err := s.open().Inputs("pulse", []uint32{5, 2}, PullLeft, 0)
	require.NoError(t, err)
	defer in.Close()
	s.pull(2, true) // opens the file
	s.pull(2, false)
	drain(t, in)

	const width, pulses, long = 1_500_000, 200, 15_000 // ns
	var off []int64
	for range pulses {
		at := Now() + 20_000
		up := s.pullAt(at, 2, true)
		down := s.pullAt(at+width, 2, false)

		edges, _ := drain(t, in)
		require.Len(t, edges, 2)
		for i, pull := range []pulled{up, down} {
			e := edges[i]
			assert.Equal(t, Event{At: e.At, Line: 1, Rising: i == 0, Number: e.Number}, e)
			assert.True(t, pull.from <= e.At && e.At <= pull.to, "edge at %d, pulled from %d to %d", e.At, pull.from, pull.to)
		}
		if max(up.to-up.from, down.to-down.from) <= long {
			off = append(off, (edges[1].At-edges[0].At)-(down.from-up.from))
		}
	}
	require.GreaterOrEqual(t, len(off), pulses*3/4, "pulses without a tick in a pull")
	t.Logf("%d of %d pulses of %d ns without a tick in a pull: %d to %d ns off", len(off), pulses, width, slices.Min(off), slices.Max(off))
	// A tick may fall between a pull and its stamp, so of a few no more than that the pull was short.
	slices.Sort(off)
	assert.GreaterOrEqual(t, off[len(off)/20], int64(-1000))
	assert.LessOrEqual(t, off[len(off)-1-len(off)/20], int64(1000))
	assert.GreaterOrEqual(t, off[0], int64(-long))
	assert.LessOrEqual(t, off[len(off)-1], int64(long))
}

func TestStartIsTheLevelsBeforeTheFirstEdge(t *testing.T) {
	s := simulate(t, 8)
	s.pull(6, true)
	s.pull(1, true)
	in, err := s.open().Inputs("start", []uint32{6, 4, 1}, PullLeft, 0)
	require.NoError(t, err)
	defer in.Close()
	assert.Equal(t, uint64(0b101), in.Start())

	s.pull(6, false)
	s.pull(4, true)
	edges, _ := drain(t, in)
	require.Len(t, edges, 2)
	assert.Equal(t, []bool{false, true}, []bool{edges[0].Rising, edges[1].Rising})
	assert.Equal(t, uint64(0b101), in.Start())
	levels, err := in.Levels()
	require.NoError(t, err)
	assert.Equal(t, uint64(0b110), levels)
}

func TestTheChipsOwnPullHoldsALine(t *testing.T) {
	s := simulate(t, 4)
	for _, row := range []struct {
		name string
		pull Pull
		want uint64
	}{{"up", PullUp, 1}, {"down", PullDown, 0}} {
		in, err := s.open().Inputs("pull", []uint32{3}, row.pull, 0)
		require.NoError(t, err)
		assert.Equal(t, row.want, in.Start(), row.name)
		require.NoError(t, in.Close())
	}
	in, err := s.open().Inputs("pulls", []uint32{3, 0, 2}, PullDown, 0b1101)
	require.NoError(t, err)
	defer in.Close()
	assert.Equal(t, uint64(0b101), in.Start(), "each its own")
	s.pull(3, false)
	edges, _ := drain(t, in)
	require.Len(t, edges, 1, "the edges of those are watched, too")
	assert.Equal(t, 0, edges[0].Line)
}

func TestManyEventsComeWithOneRead(t *testing.T) {
	s := simulate(t, 4)
	in, err := s.open().Inputs("bulk", []uint32{0, 1}, PullLeft, 0)
	require.NoError(t, err)
	defer in.Close()
	const edges = 600
	for i := range edges {
		s.pull(uint32(i/2%2), i%2 == 0)
	}
	got, reads := drain(t, in)
	require.Len(t, got, edges)
	assert.Equal(t, 1, reads)
	for i, e := range got {
		require.Equal(t, uint32(i+1), e.Number)
		require.Equal(t, i/2%2, e.Line)
		require.False(t, e.Repeated)
		require.True(t, i == 0 || e.At > got[i-1].At)
	}
}

// The kernel keeps so many events, drops the oldest and says nothing else.
func TestEdgesThatTheBufferCouldNotHoldAreSeen(t *testing.T) {
	s := simulate(t, 4)
	in, err := s.open().Inputs("lost", []uint32{0, 1}, PullLeft, 0)
	require.NoError(t, err)
	defer in.Close()
	const lost, edges = 85, 85 + MostEvents
	for i := range edges {
		s.pull(0, i%2 == 0)
	}
	got, _ := drain(t, in)
	require.Len(t, got, MostEvents)
	assert.Equal(t, uint32(lost+1), got[0].Number)
	assert.True(t, got[0].Repeated, "low at the start, 85 edges lost, now falling")

	s.pull(0, false)
	got, _ = drain(t, in)
	require.Len(t, got, 1)
	assert.Equal(t, uint32(edges+1), got[0].Number)
}

func TestReadDoesNotWaitAndAwaitDoes(t *testing.T) {
	s := simulate(t, 4)
	in, err := s.open().Inputs("wait", []uint32{0}, PullLeft, 0)
	require.NoError(t, err)
	defer in.Close()
	var events [4]Event

	n, err := in.Read(events[:])
	require.NoError(t, err)
	assert.Zero(t, n)

	go func() {
		until(Now() + int64(5*time.Millisecond))
		s.pull(0, true)
	}()
	require.NoError(t, in.Await(-1))
	n, err = in.Read(events[:])
	require.NoError(t, err)
	assert.Equal(t, 1, n)

	assert.Zero(t, testing.AllocsPerRun(100, func() {
		if err := in.Await(time.Microsecond); err != nil {
			t.Error(err)
		}
		if _, err := in.Read(events[:]); err != nil {
			t.Error(err)
		}
	}))
}

func TestALineInUseIsDenied(t *testing.T) {
	s := simulate(t, 4)
	in, err := s.open().Inputs("the first", []uint32{2}, PullLeft, 0)
	require.NoError(t, err)

	_, err = s.open().Inputs("the second", []uint32{1, 2}, PullLeft, 0)
	require.ErrorIs(t, err, unix.EBUSY)
	assert.ErrorContains(t, err, `line 2 is in use by "the first"`)
	_, err = s.open().Outputs("the second", []uint32{2}, 0)
	require.ErrorIs(t, err, unix.EBUSY)

	require.NoError(t, in.Close())
	in, err = s.open().Inputs("the second", []uint32{1, 2}, PullLeft, 0)
	require.NoError(t, err, "line 1 was not taken by what failed, line 2 was given back")
	require.NoError(t, in.Close())
}

func TestRequestsThatMakeNoSenseAreRefused(t *testing.T) {
	c := simulate(t, 4).open()
	for _, row := range []struct {
		name  string
		lines []uint32
		pull  Pull
		want  string
	}{
		{"no line", nil, PullLeft, "0 lines in one request"},
		{"too many lines", make([]uint32, 65), PullLeft, "65 lines in one request"},
		{"a line that is not there", []uint32{1, 4}, PullLeft, "line 4: invalid argument; it has lines 0 to 3"},
		{"an unknown pull", []uint32{1}, 4, "pull 4"},
	} {
		_, err := c.Inputs("denied", row.lines, row.pull, 0)
		require.ErrorIs(t, err, unix.EINVAL, row.name)
		assert.ErrorContains(t, err, row.want, row.name)
	}
	_, err := c.Inputs("denied", []uint32{1, 1}, PullLeft, 0)
	require.ErrorIs(t, err, unix.EBUSY)
	assert.ErrorContains(t, err, "line 1 is named twice")
}
