//go:build linux && gpiovm

package chardev

import (
	"errors"
	"math"
	"os"
	"regexp"
	"runtime"
	"runtime/debug"
	"slices"
	"strconv"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"golang.org/x/sys/unix"

	"hilrig/rig/benchtest"
	"hilrig/rig/decode"
	"hilrig/rig/raspberry/cdev"
	"hilrig/rig/raspberry/hostlines"
	"hilrig/rig/raspberry/realtime"
	"hilrig/rig/signal"
	"hilrig/rig/trace"
)

// counted says that the machine's time is that of its instructions: only then is there
// a bound on time.
func counted() bool { return os.Getenv("GPIOVM_ICOUNT") != "" }

// openSimulated opens a bench on a chip of the kernel.
func openSimulated(t testing.TB, change func(*hostlines.Settings, *simulated)) (*Bench, *simulated) {
	t.Helper()
	sim := simulate(t, 28)
	s := settings()
	if change != nil {
		change(&s, sim)
	}
	b, err := New(sim.device, s)
	require.NoError(t, err)
	t.Cleanup(func() { _ = b.Close() })
	return b, sim
}

// wire lays a piece of wire: whatever the chip has on line from, line to is pulled to,
// at the latest wireDelay later.
func (s *simulated) wire(from, to uint32) (cut func()) {
	ending, ended := make(chan struct{}), make(chan struct{})
	level := false
	s.pull(to, level)
	s.level(from) // opens the file
	go func() {
		defer close(ended)
		for {
			select {
			case <-ending:
				return
			default:
			}
			if now := s.level(from); now != level {
				level = now
				s.pull(to, level)
			}
			realtime.Pause(wirePause)
		}
	}()
	return func() { close(ending); <-ended }
}

const (
	wirePause = 500 * us
	wireDelay = 20 * ms
)

func TestCharDeviceBenchConforms(t *testing.T) {
	benchtest.Run(t, func(t testing.TB) benchtest.Subject {
		b, sim := openSimulated(t, func(s *hostlines.Settings, _ *simulated) { s.Reset = 24 })
		t.Cleanup(sim.wire(17, 22))
		return benchtest.Subject{Bench: b, From: 0, To: 2, Delay: wireDelay, Port: 0, CanRestart: true}
	})
}

func TestCharDeviceRefusesLinesInUse(t *testing.T) {
	deniesLinesInUse(t, func(t *testing.T) inUse {
		sim := simulate(t, 28)
		return inUse{
			open: func(s hostlines.Settings) (*Bench, error) { return New(sim.device, s) },
			hold: func(line uint32) func() {
				chip, err := cdev.Open(sim.device)
				require.NoError(t, err)
				out, err := chip.Outputs("another", []uint32{line}, 0)
				require.NoError(t, err)
				return func() {
					require.NoError(t, out.Close())
					require.NoError(t, chip.Close())
				}
			},
		}
	})
}

func TestCharDeviceLinesBeginAtRest(t *testing.T) {
	b, sim := openSimulated(t, func(s *hostlines.Settings, _ *simulated) {
		s.Layout.Lines[5].Idle = true // an inverted motor's line rests high, the chip pulls it there
	})
	assert.True(t, sim.level(23) && !sim.level(22))
	for line, spec := range b.Layout().Lines {
		if spec.Direction == signal.Drive {
			assert.Equal(t, spec.Idle, sim.level(uint32(settings().Pins[line])), spec.Name)
		}
	}
	sim.pull(23, false)
	require.NoError(t, b.Wait(b.Now()+ms))
	edges, err := b.Captured(nil)
	require.NoError(t, err)
	require.Len(t, edges, 1)
	assert.Equal(t, signal.Edge{At: edges[0].At, Uncertainty: uint32(StampUncertainty), Line: 5}, edges[0])
	require.NoError(t, b.Close())
	_, err = New(sim.device, settings())
	require.NoError(t, err, "the lines were given back")
}

func TestCharDeviceLinesInUseAreDenied(t *testing.T) {
	b, sim := openSimulated(t, nil)
	_, err := New(sim.device, settings())
	require.ErrorIs(t, err, unix.EBUSY)
	assert.ErrorContains(t, err, `in use by "hilrig"`)
	lines, err := OpenLines(sim.device)
	require.NoError(t, err)
	defer lines.Close()
	require.ErrorIs(t, lines.Output(17, true), unix.EBUSY)
	require.NoError(t, b.Wait(b.Now()+ms), "whoever has them goes on")

	path, err := HeaderChip()
	require.NoError(t, err)
	assert.Equal(t, sim.device, path)
}

// until keeps the processor until the bench's clock reads at.
func until(b *Bench, at signal.Time) {
	for b.Present() < at {
	}
}

// Pulses of a board, moved by the clock, as they come out of the decoder: within their
// uncertainty of what the clock says of both moves.
func TestCharDeviceMeasuresPulses(t *testing.T) {
	runtime.LockOSThread()
	defer runtime.UnlockOSThread()
	defer debug.SetGCPercent(debug.SetGCPercent(-1))
	for _, row := range []struct {
		name        string
		motor       decode.Motor
		idle        signal.Time
		uncertainty float64
	}{
		{"servo_pulse", decode.Motor{Servo: decode.Servo{Idle: 1000 * us, Full: 2000 * us}}, 1000 * us, 0.003},
		{"oneshot125", decode.Motor{Kind: decode.OneShot125}, 125 * us, 0.024},
	} {
		t.Run(row.name, func(t *testing.T) { measurePulses(t, row.motor, row.idle, row.uncertainty) })
	}
}

func measurePulses(t *testing.T, motor decode.Motor, idle signal.Time, uncertainty float64) {
	b, sim := openSimulated(t, func(s *hostlines.Settings, _ *simulated) { s.Formats = []decode.MotorKind{motor.Kind} })
	sim.pull(22, false)
	require.NoError(t, b.Wait(b.Present()))
	decoder, err := motor.New()
	require.NoError(t, err)
	var out trace.Output
	var edges []signal.Edge
	const pulses = 50
	type pulse struct{ from, to signal.Time }
	var whole []pulse // those that came out as long as they were meant to be: a busy host stops this machine now and then
	at := b.Present() + 5*ms
	for i := range pulses {
		width := idle + idle*signal.Time(i%5+3)/10
		until(b, at)
		from := b.Present()
		sim.pull(22, true)
		until(b, at+width)
		to := b.Present()
		sim.pull(22, false)
		if to-from < width+100*us && from < at+ms {
			whole = append(whole, pulse{from, to})
		}
		at += 5 * ms
		require.NoError(t, b.Wait(at-ms))
		edges, err = b.Captured(edges[:0])
		require.NoError(t, err)
		for _, e := range edges {
			decoder.Edge(e, &out)
		}
		decoder.Until(b.Now(), &out)
	}
	timing := b.Timing()
	t.Logf("counts %+v", timing.Count)
	if !counted() {
		return
	}
	require.Greater(t, len(whole), pulses*3/5)
	if len(whole) == pulses {
		assert.Len(t, out.Frames, pulses)
		assert.Empty(t, out.Events)
	}
	var off []float64 // us
	for _, p := range whole {
		i := slices.IndexFunc(out.Frames, func(f trace.Frame) bool { return f.Start > p.from-ms && f.Start < p.to })
		require.GreaterOrEqual(t, i, 0, "%v to %v: %v", p.from, p.to, out.Frames)
		assert.InDelta(t, uncertainty, out.Frames[i].Uncertainty, 1e-9)
		width := idle.Seconds() * (1 + out.Frames[i].Value)
		off = append(off, 1e6*math.Abs(width-(p.to-p.from).Seconds()))
	}
	slices.Sort(off)
	t.Logf("half of the pulses are off by %.3f us or less, four of five by %.3f us, all by %.3f us", off[len(off)/2], off[len(off)*4/5], off[len(off)-1])
	assert.Less(t, off[len(off)/2], 1.0)
	assert.Less(t, off[len(off)*4/5], 1e6*StampUncertainty.Seconds(), "the scheduler's tick breaks into some pulls")
	assert.Zero(t, timing.Count)
}

// The kernel's own record of what it drove, by the clock that stamps edges, against
// the plan: Linux, include/trace/events/gpio.h; the clock "mono" is CLOCK_MONOTONIC
// (Documentation/trace/ftrace.rst).
func TestCharDevicePlaysOnTime(t *testing.T) {
	b, _ := openSimulated(t, nil)
	_, err := b.ReadBack(nil)
	require.NoError(t, err)
	const tracing = "/sys/kernel/tracing/"
	write(t, tracing+"trace_clock", "mono")
	write(t, tracing+"trace", "")
	write(t, tracing+"events/gpio/gpio_value/enable", "1")
	zero := b.on.listen.zero
	const ticks = 100
	var edges []signal.Edge
	var due []signal.Time
	var taken []signal.Edge
	next := (b.Now()/ms + 2) * ms
	level := [2]bool{}
	for range ticks {
		edges = edges[:0]
		for i := range signal.Time(4) { // of two wires of an encoder, in turn
			level[i&1] = !level[i&1]
			edges = append(edges, signal.Edge{At: next + 100*us + i*200*us, Line: signal.Line(3 + i&1), Level: level[i&1]})
			due = append(due, edges[i].At)
		}
		require.NoError(t, b.Drive(edges, next+ms))
		require.NoError(t, b.Wait(next))
		next += ms
	}
	require.NoError(t, b.Wait(next))
	write(t, tracing+"events/gpio/gpio_value/enable", "0")
	text, err := os.ReadFile(tracing + "trace")
	require.NoError(t, err)
	found := regexp.MustCompile(` (\d+)\.(\d{6}): gpio_value: \d+ set \d`).FindAllSubmatch(text, -1)
	require.Len(t, found, len(due))
	taken, err = b.ReadBack(taken)
	require.NoError(t, err)
	require.Len(t, taken, len(due))
	var late []signal.Time
	for i, f := range found {
		s, _ := strconv.ParseInt(string(f[1]), 10, 64)
		micros, _ := strconv.ParseInt(string(f[2]), 10, 64)
		at := signal.Time(s*1e9+micros*1e3-zero) + 500 // the record is cut to microseconds
		late = append(late, at-due[i])
		assert.InDelta(t, float64(taken[i].At)-float64(taken[i].Uncertainty)/2, float64(at), float64(taken[i].Uncertainty)/2+1500, "read back and recorded by the kernel")
	}
	slices.Sort(late)
	timing := b.Timing()
	t.Logf("the kernel drove %d edges %v to %v late, half of them by more than %v, one in ten by more than %v", len(late), late[0], late[len(late)-1], late[len(late)/2], late[len(late)*9/10])
	for _, o := range timing.Late.Octaves() {
		t.Logf("late by %v to %v: %d", o.Least, o.Below, o.Count)
	}
	assert.GreaterOrEqual(t, late[0], -1*us, "none is early")
	if counted() {
		assert.Less(t, late[len(late)*9/10], 20*us)
	}
}

// More edges than the kernel keeps, while nobody reads: they are counted, and the pulse
// that was under way comes out as uncertain.
func TestCharDeviceReportsWhatTheKernelLost(t *testing.T) {
	b, sim := openSimulated(t, nil)
	sim.pull(22, false)
	sim.pull(23, false)
	var out trace.Output
	decoder, err := decode.NewServo(decode.Servo{Idle: 1000 * us, Full: 2000 * us})
	require.NoError(t, err)
	pulse := func(width signal.Time, within func()) {
		at := b.Present() + 500*us
		until(b, at)
		sim.pull(22, true)
		if within != nil {
			within()
		}
		until(b, at+width)
		sim.pull(22, false)
		require.NoError(t, b.Wait(b.Present()+ms))
		edges, err := b.Captured(nil)
		require.NoError(t, err)
		for _, e := range edges {
			if e.Line == 2 {
				decoder.Edge(e, &out)
			}
		}
	}
	uncertain := func() (n int) {
		for _, e := range out.Events {
			if e.Kind == trace.Uncertain {
				n++
			}
		}
		return n
	}
	pulse(1500*us, nil)
	require.Zero(t, uncertain())
	frames := len(out.Frames)
	const edges = 3 * cdev.MostEvents
	pulse(1500*us, func() {
		require.NoError(t, b.Wait(b.Present()+50*us)) // the rise is read
		b.on.listen.mu.Lock()
		for i := range edges {
			sim.pull(23, i%2 == 0)
		}
		b.on.listen.mu.Unlock()
		b.Now() // what is left is read
	})
	assert.Equal(t, int64(edges-cdev.MostEvents), b.Timing().Lost)
	assert.Equal(t, 1, uncertain(), "%+v", out)
	assert.Len(t, out.Frames, frames)

	pulse(1500*us, nil)
	assert.Equal(t, 1, uncertain(), "one pulse alone")
	if counted() {
		assert.Len(t, out.Frames, frames+1)
	}
}

// A trip: whatever moment it comes at, the lines are at their idle levels then, stay so,
// and can be played on.
func TestCharDeviceIsSafeWhilePlaying(t *testing.T) {
	b, sim := openSimulated(t, nil)
	for trip := range signal.Time(20) {
		at := b.Present() + 500*us
		var edges []signal.Edge
		for i := range signal.Time(200) {
			edges = append(edges, signal.Edge{At: at + i*50*us, Line: signal.Line(i % 2 * 3), Level: i%4 < 2})
		}
		require.NoError(t, b.Drive(edges, at+10*ms))
		realtime.Pause(500*us + trip*173*us)
		require.NoError(t, b.Safe())
		for range 2 {
			for line, spec := range b.Layout().Lines {
				if spec.Direction == signal.Drive {
					require.Equal(t, spec.Idle, sim.level(uint32(settings().Pins[line])), "%s after trip %d", spec.Name, trip)
				}
			}
			realtime.Pause(ms)
		}
	}
	assert.Positive(t, b.Timing().Late.Count)
	require.NoError(t, b.Drive([]signal.Edge{{At: b.Present() + ms, Line: 0, Level: true}}, b.Present()+ms))
	require.NoError(t, b.Wait(b.Present()+ms))
	require.NoError(t, b.Close())
	assert.False(t, sim.level(17), "closed while a line is high")
}

func TestCharDeviceAllocatesNothingInATick(t *testing.T) {
	b, sim := openSimulated(t, nil)
	edges := make([]signal.Edge, 2)
	taken, back := make([]signal.Edge, 0, 100), make([]signal.Edge, 0, 100)
	high := false
	tick := func() {
		high = !high
		sim.pull(22, high)
		next := b.Now() + ms
		edges[0], edges[1] = signal.Edge{At: next, Line: 0, Level: true}, signal.Edge{At: next + 100*us, Line: 0}
		err := b.Drive(edges, next+100*us)
		var captured, read error
		taken, captured = b.Captured(taken[:0])
		back, read = b.ReadBack(back[:0])
		if err = errors.Join(err, captured, read, b.Wait(next+200*us)); err != nil {
			t.Error(err)
		}
	}
	tick()
	assert.Zero(t, testing.AllocsPerRun(100, tick))
}

// Several goroutines at work at once, as in a run: for a look at races in a machine of
// several processors, without a bound on time.
func TestCharDeviceLosesNothingUnawares(t *testing.T) {
	b, sim := openSimulated(t, nil)
	sim.pull(22, false)
	sim.pull(23, false)
	const moves = 400
	moved := make(chan struct{})
	go func() {
		defer close(moved)
		for i := range moves {
			sim.pull(uint32(22+i/2%2), i%2 == 0)
			realtime.Pause(300 * us)
		}
	}()
	reported := map[signal.Line]int{}
	gaps := 0
	level := map[signal.Line]bool{}
	next, drive := b.Now()+2*ms, false
	for ending := false; ; next += ms {
		drive = !drive
		require.NoError(t, b.Drive([]signal.Edge{{At: next, Line: 0, Level: drive}}, next))
		require.NoError(t, b.Wait(next))
		edges, err := b.Captured(nil)
		require.NoError(t, err)
		for _, e := range edges {
			if level[e.Line] == e.Level {
				gaps++
				continue
			}
			level[e.Line] = e.Level
			reported[e.Line]++
		}
		if next = max(next, b.Now()); ending {
			break
		}
		select {
		case <-moved:
			realtime.Pause(100 * ms) // so long may an event be under way where time is the host's
			ending = true
		default:
		}
	}
	for line, offset := range map[signal.Line]uint32{2: 22, 5: 23} {
		assert.Equal(t, sim.level(offset), level[line], "line %d in the end", line)
	}
	count := b.Timing().Count
	t.Logf("of %d edges were reported %v, with %d gaps; counts %+v", moves, reported, gaps, count)
	if count == (Count{}) {
		assert.Equal(t, moves, reported[2]+reported[5])
		assert.Zero(t, gaps)
	} else {
		assert.Positive(t, count.Lost+count.Repeated+count.OutOfOrder)
	}
}
