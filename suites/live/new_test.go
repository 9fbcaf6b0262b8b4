package live

import (
	"io/fs"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"hilrig/rig/raspberry/hostlines"
	"hilrig/rig/raspberry/pinout"
	"hilrig/rig/signal"
	"hilrig/suites/file"
	"hilrig/suites/language"
)

// A bench to start from on each model: nothing of it is odd, every wire has a pin, and what the proposal
// gives is what the file says.
func TestABenchToStartFromOnEachModel(t *testing.T) {
	for _, m := range pinout.Models {
		t.Run(m.String(), func(t *testing.T) {
			folder := filepath.Join(t.TempDir(), "gravel")
			paths, err := MakeOn(folder, m.String())
			require.NoError(t, err)
			require.Len(t, paths, 5)
			data, err := os.ReadFile(paths[1])
			require.NoError(t, err)
			b, err := file.ParseBench(language.Source{Path: paths[1], Data: data})
			require.NoError(t, err)
			assert.Empty(t, file.LintBench(b))
			assert.Equal(t, "raspberry", b.Kind)
			assert.Equal(t, m, b.Computer)
			assert.Equal(t, "gravel bench", b.Name)
			w := OfBench(b)
			full, proposed, err := w.Wires.Propose()
			require.NoError(t, err)
			assert.Empty(t, proposed, "there is nothing left to propose")
			assert.NotZero(t, full.Supply)
			assert.Positive(t, w.SupplyOf(0).Falls)
			assert.LessOrEqual(t, w.SupplyOf(0).Falls, 2*signal.Second)
			u, _ := m.UARTAt(14)
			assert.Contains(t, string(data), "config.txt: "+u.Setting)
			again, err := MakeOn(folder, m.String())
			require.ErrorContains(t, err, "is there already", again)
		})
	}
	_, err := MakeOn(t.TempDir(), "Pi 2")
	require.EqualError(t, err, `--on "Pi 2" is no computer that hilrig knows the pins of; use Pi 3B+, Pi 4B or Pi 5`)
}

// What the unit does stands where ready and the kernel look for it.
func TestTheUnitDoesWhatReadyAsksFor(t *testing.T) {
	for _, words := range []string{"scaling_governor", "echo -1 > /proc/sys/kernel/sched_rt_runtime_us", "/run/hilrig/fair_server", "sched/fair_server/cpu$n/runtime", "setcap cap_sys_nice,cap_ipc_lock+ep /usr/local/bin/hilrig", "WantedBy=multi-user.target"} {
		assert.Contains(t, string(unit), words)
	}
	for line := range strings.Lines(string(unit)) {
		assert.Regexp(t, `^(#.*|\[\w+\]|[A-Z]\w*=.+|)\n$`, line)
	}
}

// changedLines keep what was done with them, in order.
type changedLines struct {
	hostlines.Lines
	did    []string
	inputs map[int]hostlines.Pull
	busy   int
}

func (l *changedLines) Output(gpio int, level bool) error {
	l.did = append(l.did, "output "+pinout.GPIO(gpio))
	if level {
		l.did = append(l.did, "HIGH")
	}
	return nil
}

func (l *changedLines) Input(gpio int, pull hostlines.Pull) error {
	if gpio == l.busy {
		return fs.ErrPermission
	}
	l.did = append(l.did, "input "+pinout.GPIO(gpio))
	l.inputs[gpio] = pull
	return nil
}

// Released pins are inputs with the pulls of power-up (pinout.PulledUp, held against another project's
// table there), the relay's first; the pins of a serial port stay the port's.
func TestPinsAreLetGo(t *testing.T) {
	w := pinout.Wires{
		Layout: signal.Layout{
			Lines: []signal.LineSpec{{Name: "steer", Role: signal.SteerPulse}, {Name: "front_left_a", Role: signal.EncoderA, Wheel: signal.FrontLeft}, {Name: "yaw_serial", Idle: true, Role: signal.SerialData}, {Name: "motor_front_left", Direction: signal.Capture, Role: signal.Motor, Wheel: signal.FrontLeft}},
			Ports: []signal.PortSpec{{Name: "yaw_serial", Line: 2, Baud: 115200}},
		},
		Pins: map[string]int{"steer": 23, "front_left_a": 5, "yaw_serial": 14, "yaw_serial_request": 15, "motor_front_left": 16, "reset": 26}, Devices: map[string]string{"yaw_serial": "/dev/ttyAMA0"},
		Stop: 17, Relay: 22, Heartbeat: 27, Supply: 18, Reset: "line",
	}
	l := &changedLines{inputs: map[int]hostlines.Pull{}}
	n, err := letGo(l, &w)
	require.NoError(t, err)
	assert.Equal(t, 8, n)
	assert.Equal(t, []string{"output GPIO22", "output GPIO27", "input GPIO17", "input GPIO22", "input GPIO27", "input GPIO18"}, l.did[:6], "low before they are let go")
	const up, down = hostlines.PullUp, hostlines.PullDown
	assert.Equal(t, map[int]hostlines.Pull{17: down, 22: down, 27: down, 18: down, 23: down, 5: up, 16: down, 26: down}, l.inputs)

	l = &changedLines{inputs: map[int]hostlines.Pull{}, busy: 23}
	n, err = letGo(l, &w)
	require.ErrorContains(t, err, "steer, GPIO23: permission denied")
	assert.Equal(t, 7, n, "the others all the same")

	_, err = LetGo(&Wired{Path: "b.yaml"}, pinout.NoPi)
	require.ErrorContains(t, err, "b.yaml: this machine is no Raspberry Pi, which has no pins to let go")
	assert.Equal(t, "", LetGoHint(&Wired{Path: "b.yaml"}, Place{PinBank: "x"}))
	assert.Contains(t, LetGoHint(&Wired{Path: "b.yaml", Stand: true}, Place{}), "hilrig release --stand b.yaml")
}

func TestAPortOnWhosePinNothingIsSeenIsNamed(t *testing.T) {
	b := &file.Bench{}
	b.Wiring.Ports = []signal.PortSpec{{Name: "yaw_serial", Baud: 115200}, {Name: "bus", Baud: 100000}}
	b.Pins = map[string]int{"yaw_serial": 14, "bus": 4}
	assert.Empty(t, unseen(b, 0))
	found := unseen(b, 2)
	require.Len(t, found, 1)
	assert.Equal(t, "bus", found[0].Check)
	assert.Equal(t, "sent, and nothing is seen at GPIO4", found[0].Says)
}
