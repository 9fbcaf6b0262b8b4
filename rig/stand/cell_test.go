package stand

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"hilrig/rig/signal"
)

// read clocks a reading out as a microcontroller does, and returns it: the data line looked at before each
// clock goes down again.
func (w *world) read(clocks int) int32 {
	clock, data := w.line(signal.CellClock), w.line(signal.CellData)
	from, at := len(w.out), w.now+10*signal.Microsecond
	for range clocks {
		w.in = append(w.in, signal.Edge{At: at, Line: clock, Level: true}, signal.Edge{At: at + signal.Microsecond, Line: clock})
		at += 2 * signal.Microsecond
	}
	level := w.stand.levels[data]
	first := w.now + 10*signal.Microsecond
	w.run(signal.Millisecond)
	value, i := int32(0), from
	for bit := range 24 {
		look := first + signal.Time(bit)*2*signal.Microsecond + 900
		for ; i < len(w.out) && w.out[i].At <= look; i++ {
			if w.out[i].Line == data {
				level = w.out[i].Level
			}
		}
		value <<= 1
		if level {
			value |= 1
		}
	}
	return value << 8 >> 8
}

// high says whether the data line is high.
func (w *world) high() bool { return w.stand.levels[w.line(signal.CellData)] }

// ready lets time pass until a reading is ready.
func (w *world) ready(most signal.Time) bool {
	for end := w.now + most; w.now < end; w.run(100 * signal.Microsecond) {
		if !w.high() {
			return true
		}
	}
	return false
}

func exact(s *Settings) { s.Cell.Noise, s.Cell.Rate = 0, 80 }

// The protocol: from memory of the data sheet of such a converter (MEM).
func TestTheConverterIsReadByItsClock(t *testing.T) {
	w := newWorld(t, "linear", exact, func(s *Settings) { s.Cell.Mass = 0.5 })
	w.run(45 * signal.Millisecond)
	assert.True(t, w.high(), "it settles for four readings, 50 ms")
	require.True(t, w.ready(10*signal.Millisecond))
	want := 21_500 + 100_000*0.5*gravity
	assert.InDelta(t, want, w.read(25), 1)
	assert.True(t, w.high(), "after the last clock the line goes up")

	began := w.now
	require.True(t, w.ready(20*signal.Millisecond))
	assert.Less(t, w.now-began, 13*signal.Millisecond, "80 readings in a second")
	w.stand.Hang(0)
	w.run(15 * signal.Millisecond)
	assert.InDelta(t, 21_500, w.read(25), 1, "what was not read is replaced")
}

func TestClocksSelectTheGain(t *testing.T) {
	w := newWorld(t, "linear", exact, func(s *Settings) { s.Cell.Mass = 0.5 })
	require.True(t, w.ready(signal.Second))
	force := 100_000 * 0.5 * gravity
	assert.InDelta(t, 21_500+force, w.read(27), 1, "still at the gain of before")
	began := w.now
	require.True(t, w.ready(signal.Second))
	assert.InDelta(t, 0.055, (w.now - began).Seconds(), 0.01, "it settles anew")
	assert.InDelta(t, 21_500+force/2, w.read(26), 1)
	require.True(t, w.ready(signal.Second))
	assert.InDelta(t, 21_500, w.read(25), 1, "the other input")
	require.True(t, w.ready(signal.Second))
	assert.InDelta(t, 21_500+force, w.read(25), 1)
}

func TestAClockThatStaysHighSwitchesItOff(t *testing.T) {
	w := newWorld(t, "linear", exact)
	require.True(t, w.ready(signal.Second))
	clock := w.line(signal.CellClock)
	w.in = append(w.in, signal.Edge{At: w.now, Line: clock, Level: true}, signal.Edge{At: w.now + 50*signal.Microsecond, Line: clock})
	w.run(200 * signal.Microsecond)
	assert.False(t, w.stand.cell.off, "50 us are not long enough")
	w.run(20 * signal.Millisecond)
	require.True(t, w.ready(20*signal.Millisecond), "a readout that was given up is forgotten")

	began := w.now
	w.in = append(w.in, signal.Edge{At: w.now, Line: clock, Level: true})
	w.run(100 * signal.Millisecond)
	assert.True(t, w.stand.cell.off)
	data := w.of(signal.CellData)
	assert.Equal(t, began+60*signal.Microsecond, data[len(data)-1].At)
	assert.True(t, data[len(data)-1].Level)
	w.in = append(w.in, signal.Edge{At: w.now, Line: clock})
	began = w.now
	require.True(t, w.ready(signal.Second))
	assert.InDelta(t, 0.0505, (w.now - began).Seconds(), 0.001)
}

func TestSaturationAndPlugs(t *testing.T) {
	reading := func(change func(*Settings)) int32 {
		w := newWorld(t, "linear", exact, change)
		require.True(t, w.ready(signal.Second))
		return w.read(25)
	}
	assert.EqualValues(t, 0x7FFFFF, reading(func(s *Settings) { s.Cell.Mass = 100 }))
	assert.EqualValues(t, -0x800000, reading(func(s *Settings) { s.Cell.Mass = -100 }))
	assert.EqualValues(t, 0x7FFFFF, reading(func(s *Settings) { s.Cell.Open = true }))
	// CALC: floor(-8500 - 100000 x 0.5 x 9.80665)
	assert.EqualValues(t, -498_833, reading(func(s *Settings) { s.Cell.Mass, s.Cell.Offset = -0.5, -8500 }), "below 0")

	w := newWorld(t, "linear", exact, func(s *Settings) { s.Cell.Unplugged = true })
	assert.False(t, w.ready(signal.Second))
	assert.EqualValues(t, -1, w.read(25), "ones")
}

// Noise is that of the settings, and the offset creeps.
func TestNoiseAndCreep(t *testing.T) {
	w := newWorld(t, "linear", func(s *Settings) { s.Cell.Creep = 100 })
	var sum, squares float64
	const n = 400
	for range n {
		require.True(t, w.ready(signal.Second))
		x := float64(w.read(25)) - 21_500 - 100*w.now.Seconds()
		sum, squares = sum+x, squares+x*x
	}
	// Three standard deviations of mean and spread of 400 readings.
	assert.InDelta(t, 0, sum/n, 3*60/20.+5)
	assert.InDelta(t, 60*60, squares/n, 0.25*60*60)
}

// The cell has the brake's torque over its arm.
func TestTheCellHasTheBrakesTorque(t *testing.T) {
	w := newWorld(t, "linear", exact, func(s *Settings) { s.Held = Held{Kind: AtSpeed, Speed: 60} }).arm().hold(0.5, signal.Second)
	w.hold(0.5, 100*signal.Millisecond)
	require.True(t, w.ready(signal.Second))
	truth := w.stand.Truth()
	torque := truth.Torque(0.5, 60, Up) - truth.Drag(60)
	assert.InDelta(t, 21_500+100_000*torque/0.1, w.read(25), 2)
}

// A conversion that ends while the last one is read out does not disturb it.
func TestAReadoutIsNotDisturbed(t *testing.T) {
	w := newWorld(t, "linear", exact, func(s *Settings) { s.Cell.Mass = 0.5 })
	require.True(t, w.ready(signal.Second))
	w.run(w.stand.cell.next - w.now - 30*signal.Microsecond)
	assert.InDelta(t, 21_500+100_000*0.5*gravity, w.read(25), 1)
	assert.True(t, w.high())
	assert.True(t, w.ready(15*signal.Millisecond))
}
