package plant

import (
	"bufio"
	"bytes"
	"fmt"
	"os"
	"os/exec"
	"path/filepath"
	"strconv"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// stretch is one part of a manoeuvre for the model and its C twin.
type stretch struct {
	count  int
	dt     float64
	steer  float64
	torque [4]float64
}

func (s stretch) input() Input { return Input{Steer: s.steer, Torque: s.torque} }

// twin is the compiled C twin of the plain configuration.
type twin string

// compileTwin compiles the C twin. Without a C compiler it skips, and fails where
// CI promises one.
func compileTwin(tb testing.TB) twin {
	tb.Helper()
	gcc, err := exec.LookPath("gcc")
	if err != nil {
		if os.Getenv("CI") == "true" {
			tb.Fatal("gcc is not on the path; install it, the C twin must be compared in CI")
		}
		tb.Skip("gcc is not on the path; install it to compare the model with its C twin")
	}
	file := filepath.Join(tb.TempDir(), "twin")
	source := filepath.Join("ctwin", "twin.c")
	out, err := exec.Command(gcc, "-std=c11", "-O2", "-ffp-contract=off", "-Wall", "-Wextra", "-Werror", "-o", file, source, "-lm").CombinedOutput()
	require.NoError(tb, err, "%s", out)
	return twin(file)
}

// tryTwin is compileTwin for a benchmark, which goes on without a compiler.
func tryTwin(tb testing.TB) (twin, bool) {
	tb.Helper()
	if _, err := exec.LookPath("gcc"); err != nil {
		return "", false
	}
	return compileTwin(tb), true
}

// run hands the twin the model's constants and motion and returns what it prints.
func (w twin) run(tb testing.TB, m *Model, stretches []stretch, args ...string) []byte {
	tb.Helper()
	k := &m.k
	curved := 0.0
	if k.curved {
		curved = 1
	}
	var in bytes.Buffer
	for _, x := range []float64{
		k.mass, k.perMass, k.perYawInertia, k.frontAxle, k.rearAxle, k.halfFront, k.halfRear,
		k.radius, k.perWheelInertia, k.bx, k.cx, k.ex, k.by, k.cy, k.ey, k.mux, k.muy,
		k.perPeakX, k.perPeakY, curved, k.sensitivity, k.perLoad,
		k.staticFront, k.staticRear, k.liftFront, k.liftRear, k.drag,
		k.pitch, k.rollFront, k.rollRear, k.stiffness,
	} {
		fmt.Fprintf(&in, "%x ", x)
	}
	for _, x := range m.now {
		fmt.Fprintf(&in, "%x ", x)
	}
	for _, s := range stretches {
		fmt.Fprintf(&in, "%d %x %x ", s.count, s.dt, s.steer)
		for _, x := range s.torque {
			fmt.Fprintf(&in, "%x ", x)
		}
	}
	c := exec.Command(string(w), args...)
	c.Stdin = &in
	c.Stderr = os.Stderr
	out, err := c.Output()
	require.NoError(tb, err)
	return out
}

// nsPerStep returns how long the twin takes for one step.
func (w twin) nsPerStep(tb testing.TB, m *Model, s stretch) float64 {
	tb.Helper()
	f := strings.Fields(string(w.run(tb, m, []stretch{s}, "time", "200000")))
	require.Len(tb, f, 2)
	ns, err := strconv.ParseFloat(f[0], 64)
	require.NoError(tb, err)
	return ns
}

// TestTwin drives the model and its C twin through the same manoeuvres: the motion
// must agree bit for bit after every step.
func TestTwin(t *testing.T) {
	rolling := func(v float64) State {
		w := v / small().WheelRadius
		return State{Vx: v, Wheel: [4]float64{w, w, w, w}}
	}
	level := small()
	level.Tyre.LoadSensitivity = 0
	level.Tyre.LongitudinalE, level.Tyre.LateralE = 0, 0
	tests := []struct {
		name      string
		car       Car
		start     State
		stretches []stretch
	}{
		{"turn under power", small(), rolling(8), []stretch{
			{400, 0.001, 0.03, [4]float64{.05, .06, .1, .2}}, {400, 0.001, -0.06, [4]float64{.3, .0, -.1, .2}}}},
		{"wheelspin from rest", small(), State{}, []stretch{
			{300, 0.001, 0.2, [4]float64{1.5, 1.5, 1.5, 1.5}}, {300, 0.001, 0, [4]float64{}}}},
		{"locked in a turn", small(), rolling(20), []stretch{
			{200, 0.001, 0.1, [4]float64{-1, -1, -.2, -.3}}, {200, 0.001, 0.1, [4]float64{}}}},
		{"lifting wheels, no load sensitivity", level, rolling(12), []stretch{
			{300, 0.001, 0.3, [4]float64{.1, .1, .4, .4}}, {300, 0.002, -0.3, [4]float64{.1, .1, .4, .4}}}},
	}
	w := compileTwin(t)
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			m, err := New(tt.car)
			require.NoError(t, err)
			m.Reset(tt.start)
			lines := bufio.NewScanner(bytes.NewReader(w.run(t, m, tt.stretches, "run")))
			for _, s := range tt.stretches {
				for n := range s.count {
					m.Step(s.input(), s.dt)
					require.True(t, lines.Scan(), "the twin ended at step %d", n)
					f := strings.Fields(lines.Text())
					require.Len(t, f, motionSize)
					for i, want := range m.now {
						got, err := strconv.ParseFloat(f[i], 64)
						require.NoError(t, err)
						require.Equal(t, want, got, "element %d after step %d", i, n)
					}
				}
			}
			assert.False(t, lines.Scan(), "the twin went on: %s", lines.Text())
		})
	}
}
