package moment_test

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"hilrig/rig/board"
	"hilrig/rig/board/moment"
	"hilrig/rig/signal"
)

const ms = signal.Millisecond

var _ board.Board = (*moment.Board)(nil)

// The shift of the rear right motor is 60 % of 0.4 % a degree per second, of 92.5 - 60, which is 7.8 %: CALC in law_test.go. The memory
// adds 0.1 % in ten milliseconds, for 40 to 50 of the first 60.
func TestItDrives(t *testing.T) {
	w := newWorld(t, 1).ready()
	assert.Equal(t, [4]int{}, w.values(), "stop at idle")
	w.throttle = 192 + 640
	w.run(100 * ms)
	assert.Equal(t, [4]int{848, 848, 848, 848}, w.values(), "48 + 40 % of 1999, rounded")
	w.drive(60).run(60 * ms)
	assert.InDelta(t, 8.25, w.shift(), 0.4, "the speed is known to half a count in ten milliseconds")
	v := w.values()
	assert.InDelta(t, float64(v[3]-848), float64(848-v[2]), 1, "left against right")
	assert.InDelta(t, float64(v[3]-848)/1.5, float64(v[1]-848), 1, "front to rear as 40 to 60")
	assert.InDelta(t, float64(v[1]-848), float64(848-v[0]), 1)
	w.steer, w.yaw = 992-267, -60
	w.run(800 * ms)
	assert.Less(t, w.shift(), -7.0, "to the right")
}

// One frame to each motor in each turn of the loop, 400 a second, all at the same time.
func TestOneFrameALoop(t *testing.T) {
	w := newWorld(t, 3).ready().drive(60)
	from := w.now
	w.run(signal.Second)
	for i := range w.frames {
		f := w.since(i, from)
		assert.InDelta(t, 400, len(f), 1)
		for k := range f {
			assert.Equal(t, w.since(0, from)[k].at, f[k].at)
			if k > 0 {
				assert.Equal(t, 2500*signal.Microsecond, f[k].at-f[k-1].at)
			}
		}
	}
}

// The switch has three steps: what is between them counts as the lower one.
func TestGainHasThreeSteps(t *testing.T) {
	for _, tt := range []struct {
		count int
		want  float64
	}{{192, 0}, {591, 0}, {592, 4.13}, {992, 4.13}, {1391, 4.13}, {1392, 8.25}, {1792, 8.25}} {
		w := newWorld(t, 1).ready().drive(60)
		w.gain = tt.count
		w.run(60 * ms)
		assert.InDelta(t, tt.want, w.shift(), 0.4, "%d counts", tt.count)
	}
}

func TestBackwardsThereIsNoShift(t *testing.T) {
	w := newWorld(t, 1).ready().drive(60)
	w.speed = [4]float64{-4, -4, -4, -4}
	w.run(200 * ms)
	assert.Equal(t, [4]int{848, 848, 848, 848}, w.values())
}

// It is silent until it has stood still for a second with a yaw rate; then until the throttle is at
// idle.
func TestStart(t *testing.T) {
	for _, tt := range []struct {
		name    string
		corrupt func(w *world) // for the first 1.5 s
		after   signal.Time    // what is left of the time until it arms
	}{
		{"at rest", func(*world) {}, -390 * ms},
		{"one wheel moves", func(w *world) { w.speed[1] = 0.2 }, 1100 * ms},
		{"the car turns", func(w *world) { w.yaw = 16 }, 1100 * ms},
		{"it turns the other way", func(w *world) { w.yaw = -16 }, 1100 * ms},
		{"no yaw rate", func(w *world) { w.noYaw = true }, 1100 * ms},
		{"too few of it", func(w *world) { w.yawEvery = 20 * ms }, 230 * ms},
		{"no receiver", func(w *world) { w.noReceiver = true }, 100 * ms},
		{"throttle up", func(w *world) { w.throttle = 832 }, 100 * ms},
	} {
		t.Run(tt.name, func(t *testing.T) {
			w := newWorld(t, 1)
			tt.corrupt(w)
			w.run(1500 * ms)
			if tt.after > 0 {
				assert.Empty(t, w.raw, "silent")
			}
			w.speed, w.yaw, w.noYaw, w.noReceiver, w.throttle, w.yawEvery = [4]float64{}, 0, false, false, 192, 5*ms
			w.run(1500 * ms)
			for i := range w.frames {
				require.NotEmpty(t, w.frames[i])
				assert.InDelta(t, float64(tt.after), float64(w.frames[i][0].at-1500*ms), float64(25*ms))
				for _, f := range w.frames[i] {
					assert.Zero(t, f.value, "stop")
				}
			}
		})
	}
}

// An edge of a wheel begins the second anew.
func TestAnyEdgeOfAWheelBeginsTheSecondAnew(t *testing.T) {
	w := newWorld(t, 1)
	w.run(900 * ms)
	w.speed[2] = 1.1 // one count in a millisecond
	w.run(ms)
	w.speed[2] = 0
	w.run(990 * ms)
	assert.Empty(t, w.raw)
	w.run(150 * ms)
	assert.NotEmpty(t, w.raw)
}

// The mean at rest counts as no yaw rate.
func TestTheOffsetIsTakenOut(t *testing.T) {
	shift := func(offset float64) float64 {
		w := newWorld(t, 1)
		w.yaw = offset
		w.ready().drive(60 + offset).run(60 * ms)
		return w.shift()
	}
	assert.InDelta(t, shift(0), shift(12), 0.05)
	assert.InDelta(t, shift(0), shift(-12), 0.05)
}

func TestRestart(t *testing.T) {
	w := newWorld(t, 1).ready().drive(60)
	w.run(300 * ms)
	require.NoError(t, w.board.Restart(w.now))
	w.speed, w.yaw, w.throttle, w.steer = [4]float64{}, 0, 192, 992
	before := len(w.raw)
	w.run(1000 * ms)
	assert.Len(t, w.raw, before, "it stands still anew")
	w.run(200 * ms)
	assert.Greater(t, len(w.raw), before)
	w.drive(60).run(60 * ms)
	assert.InDelta(t, 8.25, w.shift(), 0.4, "the memory began anew")
}

// The throttle counts as at idle below 2 %, and is full at 100 %.
func TestTheEndsOfTheThrottle(t *testing.T) {
	w := newWorld(t, 1).ready()
	for _, tt := range []struct{ count, want int }{{223, 0}, {224, 88}, {1792, 1947}, {2047, 1947}, {0, 0}} {
		w.throttle = tt.count
		w.run(30 * ms)
		assert.Equal(t, [4]int{tt.want, tt.want, tt.want, tt.want}, w.values(), "%d counts", tt.count)
	}
}

// An edge to the level that a line has is none.
func TestAnEdgeWithoutAChangeIsNone(t *testing.T) {
	w := newWorld(t, 1)
	w.run(900 * ms)
	for i := range signal.Line(8) {
		w.planned = append(w.planned, signal.Edge{At: w.now + signal.Time(i), Line: encoderLines + i})
	}
	w.run(250 * ms)
	assert.NotEmpty(t, w.raw)
}

// A power cycle amid a frame pulls the lines that are high down at that time.
func TestRestartAmidAFrame(t *testing.T) {
	w := newWorld(t, 1).ready()
	w.run(100 * ms)
	f := w.frames[0]
	next := f[len(f)-1].at + 2500*signal.Microsecond
	require.Greater(t, next, w.now)
	out, err := w.board.Run(nil, next+100, nil)
	require.NoError(t, err)
	require.Len(t, out, 4)
	require.NoError(t, w.board.Restart(next+200))
	out, err = w.board.Run(nil, next+signal.Second/2, nil)
	require.NoError(t, err)
	require.Len(t, out, 4)
	for _, e := range out {
		assert.Equal(t, next+200, e.At)
		assert.False(t, e.Level)
	}
}

// shortDrive plays a bit of everything and returns what the board sent.
func shortDrive(t testing.TB, seed uint64, step signal.Time) []signal.Edge {
	w := newWorld(t, seed)
	w.play(1500*ms, step)
	w.drive(60).play(100*ms, step)
	w.drive(130).play(50*ms, step)
	return w.raw
}

func TestHowTimeIsCutDoesNotMatter(t *testing.T) {
	want := shortDrive(t, 7, ms)
	require.NotEmpty(t, want)
	for _, step := range []signal.Time{ms / 8, ms / 100} {
		got := shortDrive(t, 7, step)
		assert.True(t, assert.ObjectsAreEqual(want, got), "in steps of %v", step)
	}
}

// Each seed has its phase of the loop, spread over its period, and each power-up one of its own.
func TestPhasesAreDrawn(t *testing.T) {
	assert.Equal(t, shortDrive(t, 1, ms), shortDrive(t, 1, ms))
	if testing.Short() {
		t.Skip("a hundred power-ups")
	}
	var seen [10]int
	for seed := range uint64(100) {
		w := newWorld(t, seed).ready()
		seen[w.raw[0].At%(2500*signal.Microsecond)/(250*signal.Microsecond)]++
	}
	for _, n := range seen {
		assert.InDelta(t, 10, n, 9, "%v", seen)
	}
}

func TestRunAllocatesNothing(t *testing.T) {
	w := newWorld(t, 1).ready().drive(60)
	out := make([]signal.Edge, 0, 4096)
	in := make([]signal.Edge, 0, 4096)
	assert.Zero(t, testing.AllocsPerRun(100, func() {
		w.planned = w.planned[:0]
		at := w.now
		in = append(in[:0], signal.Edge{At: at + 1, Line: encoderLines, Level: true}, signal.Edge{At: at + 2, Line: receiverLine, Level: true},
			signal.Edge{At: at + 3, Line: receiverLine}, signal.Edge{At: at + 4, Line: encoderLines}, signal.Edge{At: at + 5, Line: yawLine}, signal.Edge{At: at + 6, Line: yawLine, Level: true})
		w.now += 10 * ms
		var err error
		out, err = w.board.Run(in, w.now, out[:0])
		if err != nil || len(out) == 0 {
			t.Fail()
		}
	}))
}

func TestWhatTheBoardIsSentWrong(t *testing.T) {
	for i, l := range layout().Lines {
		less := layout()
		less.Lines[i].Name, less.Lines[i].Role = "other", signal.OtherRole
		_, err := moment.New(moment.Thistle(), less, 1)
		assert.ErrorContains(t, err, "the bench has no line "+l.Name)
	}
	w := newWorld(t, 1)
	for _, line := range []signal.Line{motorLines, 99} {
		_, err := w.board.Run([]signal.Edge{{At: 1, Line: line}}, 2, nil)
		assert.ErrorContains(t, err, "which the bench does not drive")
	}
	_, err := moment.WithFault(moment.Thistle(), "integral_keept")
	assert.ErrorContains(t, err, `"integral_keept" of built-in/moment is not known; use one of band_missing, `)
	assert.NoError(t, w.board.Close())
}
