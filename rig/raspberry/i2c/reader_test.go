package i2c

import (
	"errors"
	"sync"
	"syscall"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"periph.io/x/conn/v3/physic"

	"hilrig/rig/raspberry/realtime"
	"hilrig/rig/signal"
)

// failing is a bus on which transfers do what a test says.
type failing struct {
	mu   sync.Mutex
	err  error
	data []byte
	does func() // before each transfer
	n    int
}

func (f *failing) String() string                  { return "failing" }
func (f *failing) SetSpeed(physic.Frequency) error { return nil }

func (f *failing) Tx(_ uint16, _, r []byte) error {
	f.mu.Lock()
	defer f.mu.Unlock()
	f.n++
	if f.does != nil {
		f.does()
	}
	copy(r, f.data)
	return f.err
}

const ms = signal.Millisecond

func one() []Register {
	return []Register{{Address: 0x40, Number: 1, Width: 2, Signed: true, Scale: 1e-3}}
}

// On a clock brought forward by hand each transfer takes what the bus lets pass.
func TestReadingsHaveTheTimeOfTheirTransfer(t *testing.T) {
	clock := &realtime.Manual{}
	bus := &failing{data: []byte{0x03, 0xE8}}
	bus.does = func() { clock.SleepUntil(clock.Now() + 200*signal.Microsecond) }
	r, err := Start(bus, Settings{Registers: one(), Every: 2 * ms, Clock: clock})
	require.NoError(t, err)
	defer r.Close()
	var all []Reading
	for range 10 {
		all = r.AppendNew(all)
		clock.SleepUntil(clock.Now() + ms)
	}
	require.GreaterOrEqual(t, len(all), 5)
	for i, one := range all {
		assert.Equal(t, 100*signal.Microsecond, one.Uncertainty)
		assert.InDelta(t, 1.0, one.Value, 1e-12)
		assert.Equal(t, i, one.Same, "the same count as before")
		require.NoError(t, one.Err)
	}
	assert.Equal(t, 100*signal.Microsecond, all[0].At)
	assert.GreaterOrEqual(t, all[1].At-all[0].At, 2*ms)
}

// A value that changes is not the same, and what fails is a reading too.
func TestFailuresAndStuckValuesAreReported(t *testing.T) {
	clock := &realtime.Manual{}
	bus := &failing{data: []byte{0, 1}}
	r, err := Start(bus, Settings{Registers: one(), Every: ms, Clock: clock})
	require.NoError(t, err)
	take := func() Reading {
		all := r.AppendNew(nil)
		require.Len(t, all, 1)
		clock.SleepUntil(clock.Now() + ms)
		return all[0]
	}
	assert.Equal(t, 0, take().Same)
	assert.Equal(t, 1, take().Same)
	bus.data = []byte{0x7F, 0xFF}
	moved := take()
	assert.Equal(t, 0, moved.Same)
	assert.True(t, moved.AtItsEnd)
	bus.err = syscall.ENXIO
	gone := take()
	require.ErrorIs(t, gone.Err, ErrAbsent)
	assert.Zero(t, gone.Value)
	bus.err = errors.New("arbitration lost")
	lost := take()
	require.ErrorContains(t, lost.Err, "arbitration lost")
	require.NotErrorIs(t, lost.Err, ErrAbsent)
	bus.err = nil
	assert.Equal(t, 0, take().Same, "after a failure nothing is known of before")
}

func TestWhatIsNotTakenIsDroppedAndCounted(t *testing.T) {
	clock := &realtime.Manual{}
	r, err := Start(&failing{data: []byte{0, 0}}, Settings{Registers: one(), Every: ms, Clock: clock})
	require.NoError(t, err)
	for range 1<<order + 7 {
		r.readAll()
	}
	assert.Equal(t, int64(7), r.Dropped())
	assert.Len(t, r.AppendNew(nil), 1<<order)
}

// Whoever plays is never kept waiting: a transfer that hangs holds up nothing but itself.
func TestTakingNeverWaitsForTheBus(t *testing.T) {
	release, hangs := make(chan struct{}), make(chan struct{})
	var once sync.Once
	bus := &failing{data: []byte{0x03, 0xE8}}
	bus.does = func() {
		once.Do(func() { close(hangs) })
		<-release
	}
	r, err := Start(bus, Settings{Registers: one(), Every: ms, Clock: realtime.System{}})
	require.NoError(t, err)
	<-hangs
	assert.Empty(t, r.AppendNew(nil), "the transfer hangs, and AppendNew returns")
	close(release)
	var got []Reading
	for len(got) < 3 {
		got = r.AppendNew(got)
		realtime.Pause(ms)
	}
	r.Close()
	r.Close()
	for i := range got {
		assert.InDelta(t, 1.0, got[i].Value, 1e-12)
		assert.True(t, i == 0 || got[i].At > got[i-1].At)
	}
	bus.mu.Lock()
	n := bus.n
	bus.mu.Unlock()
	realtime.Pause(5 * ms)
	bus.mu.Lock()
	assert.Equal(t, n, bus.n, "nothing is read after Close")
	bus.mu.Unlock()
}

func TestAReaderNeedsRegistersThatCanBeRead(t *testing.T) {
	_, err := Start(&failing{}, Settings{Clock: &realtime.Manual{}})
	require.ErrorContains(t, err, "no register to be read")
	_, err = Start(&failing{}, Settings{Clock: &realtime.Manual{}, Registers: []Register{{Address: 0x40, Width: 9, Scale: 1}}})
	require.ErrorContains(t, err, "9 bytes")
}
