//go:build linux && gpiovm

package chardev

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"hilrig/rig/raspberry/cdev"
	"hilrig/rig/raspberry/realtime"
	"hilrig/rig/signal"
)

// jump lays a jumper: as long as it lies, whatever the chip has on line from, line to is
// pulled to.
func (s *simulated) jump(from, to uint32) (cut func()) {
	ending, ended := make(chan struct{}), make(chan struct{})
	s.level(from) // opens the files
	s.level(to)
	s.pull(to, false)
	go func() {
		defer close(ended)
		for {
			select {
			case <-ending:
				return
			default:
			}
			if now := s.level(from); now != s.level(to) {
				s.pull(to, now)
			}
			realtime.Pause(200 * us)
		}
	}()
	return func() { close(ending); <-ended }
}

// infos returns what the kernel says of all lines.
func (s *simulated) infos() (all []cdev.LineInfo) {
	chip, err := cdev.Open(s.device)
	require.NoError(s.t, err)
	defer chip.Close()
	for n := range chip.Info().Lines {
		info, err := chip.Line(uint32(n))
		require.NoError(s.t, err)
		all = append(all, info)
	}
	return all
}

// Without a jumper no line changes, whatever is on it; those that are somebody's or driven
// are left alone.
func TestCharDeviceTimingChangesNoPin(t *testing.T) {
	sim := simulate(t, 28)
	lines, err := OpenLines(sim.device)
	require.NoError(t, err)
	defer lines.Close()
	require.NoError(t, lines.Output(23, true))
	_, err = lines.Read(25)
	require.NoError(t, err)
	sim.pull(24, true)
	left, err := OpenLines(sim.device)
	require.NoError(t, err)
	require.NoError(t, left.Output(26, true))
	require.NoError(t, left.Close())
	before := sim.infos()
	require.True(t, before[26].IsOutput && !before[26].Used, "as a bench leaves its lines")

	trial := Trial{Path: sim.device, For: 300 * ms, Edges: 1000}
	during := false
	trial.Progress = func(done signal.Time) {
		if done >= 100*ms {
			during = true
			for n, info := range sim.infos() {
				assert.Equal(t, before[n].IsOutput, info.IsOutput, "GPIO%d", n)
			}
		}
	}
	k, err := trial.Run(t.Context())
	require.NoError(t, err)
	assert.True(t, during)
	assert.Equal(t, before, sim.infos(), "and they were given back")
	assert.True(t, sim.level(23) && sim.level(24))
	assert.Equal(t, []int{24, 27, 22, 17}, k.Read)
	assert.NotZero(t, k.Calls.Count)
	assert.NotZero(t, k.Several.Count)
	assert.Equal(t, k.Planned, k.Played+k.Skipped)
	t.Logf("%d of %d edges; a call takes %v, of three lines %v, at most %v; half of the edges are late by up to %v, all by %v",
		k.Played, k.Planned, k.Calls.Quantile(0.5), k.Several.Quantile(0.5), k.Calls.Most, k.Late.Quantile(0.5), k.Late.Most)
	if counted() {
		assert.Zero(t, k.Skipped)
		assert.Less(t, k.Late.Quantile(0.5), 50*us)
	}
}

// Over a jumper that takes up to some hundred microseconds every edge comes at a slow
// rate, and at a fast one it does not.
func TestCharDeviceTimingOverAJumper(t *testing.T) {
	sim := simulate(t, 28)
	cut := sim.jump(17, 22)
	trial := Trial{Path: sim.device, Jumper: &Link{17, 22}, For: 500 * ms, Edges: 200}
	require.NoError(t, trial.withLines(trial.Jumper.checkConnected))
	device, err := cdev.Open(sim.device)
	require.NoError(t, err)
	k, err := trial.over(t.Context(), charChip{device}, []float64{100, 20e3})
	cut()
	require.NoError(t, err)
	j := k.Jumper
	t.Logf("%d edges, %d heard, %d lost; a stamp comes %v after the call began, at most %v; a width is off by %v, at most %v; read %v after the stamp, at most %v",
		k.Played, j.Heard, j.Lost, j.Stamps.Quantile(0.5), j.Stamps.Most, j.Widths.Quantile(0.5), j.Widths.Most, j.Read.Quantile(0.5), j.Read.Most)
	assert.Equal(t, k.Played, j.Heard+j.Lost)
	assert.NotZero(t, j.Heard)
	require.NotEmpty(t, j.Rungs)
	assert.False(t, j.Rungs[len(j.Rungs)-1].Well(), "20000 a second do not come over this")
	require.NoError(t, trial.withLines(trial.Jumper.letGo))
	for _, n := range []int{17, 22} {
		assert.False(t, sim.infos()[n].IsOutput)
	}
	if !counted() {
		return
	}
	assert.Equal(t, []uint64{100, 0, 0, 0, 0}, []uint64{j.Heard, j.Lost, j.Extra, j.Turned, j.Invalidated})
	assert.Less(t, j.Stamps.Most, 2*ms)
	assert.Greater(t, j.Stamps.Quantile(0.5), 10*us, "the jumper's own time is in it")
	assert.Len(t, j.Rungs, 2)
	assert.EqualValues(t, 100, j.Highest)
	assert.Less(t, j.Read.Most, 10*ms)
}

// A trial drives nothing where there is no jumper, or where somebody else drives.
func TestCharDeviceTimingRefusesWhatIsNotWired(t *testing.T) {
	sim := simulate(t, 28)
	trial := Trial{Path: sim.device, Jumper: &Link{17, 22}, For: 10 * ms, Edges: 200}
	_, err := trial.Run(t.Context())
	require.ErrorContains(t, err, "GPIO17 was driven high and GPIO22 stays low")
	assert.False(t, sim.infos()[17].IsOutput)

	trial.Jumper = &Link{5, 22}
	_, err = trial.Run(t.Context())
	require.ErrorContains(t, err, "high from power-up")

	lines, err := OpenLines(sim.device)
	require.NoError(t, err)
	defer lines.Close()
	require.NoError(t, lines.Output(22, true))
	trial.Jumper = &Link{17, 22}
	_, err = trial.Run(t.Context())
	require.ErrorContains(t, err, `line 22 is in use by "hilrig"`)
	assert.False(t, sim.infos()[17].IsOutput)
}
