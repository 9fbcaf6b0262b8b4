//go:build pivm

package registers

import (
	"bytes"
	"fmt"
	"os"
	"os/exec"
	"runtime/debug"
	"syscall"
	"testing"
	"time"
	"unsafe"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"hilrig/rig/benchtest"
	"hilrig/rig/raspberry/hostlines"
	"hilrig/rig/raspberry/pinout"
	"hilrig/rig/signal"
)

// jumper is the registers with a piece of wire from GPIO17 to GPIO22, which nobody can
// plug into the emulator: what GPIO17 is read at, GPIO22 is. It rests before each
// read: the emulator runs one processor at a time, and a loop that never rests
// would leave little for the others. Go's scheduler is not told, so that it wakes
// nobody else.
type jumper struct{ *Registers }

func (j jumper) Level() uint32 {
	rest := syscall.Timespec{Nsec: 50_000}
	_, _, _ = syscall.RawSyscall(syscall.SYS_NANOSLEEP, uintptr(unsafe.Pointer(&rest)), 0, 0)
	level := j.Registers.Level()
	return level&^(1<<22) | level>>17&1<<22
}

var benchLines = signal.Layout{
	Lines: []signal.LineSpec{
		{Name: "steer", Role: signal.SteerPulse}, {Name: "yaw_serial", Idle: true, Role: signal.SerialData},
		{Name: "motor_front_left", Direction: signal.Capture, Role: signal.Motor, Wheel: signal.FrontLeft},
	},
	Ports: []signal.PortSpec{{Name: "yaw_serial", Line: 1, Baud: 115200}},
}

// benchPins are those of benchLines: GPIO14 is the kernel's here.
var benchPins = hostlines.Pins{17, 4, 22}

// driveIdle makes the driven lines of benchLines outputs at their idle level.
func driveIdle(l hostlines.Lines) error {
	for i, line := range benchLines.Lines {
		var err error
		if line.Direction == signal.Drive {
			err = l.Output(int(benchPins[i]), line.Idle)
		} else {
			err = l.Input(int(benchPins[i]), hostlines.PullDown)
		}
		if err != nil {
			return err
		}
	}
	return nil
}

// onPi has a bench of benchLines whose loop may take long.
func onPi(r *Registers) Settings {
	return Settings{Settings: hostlines.Settings{Layout: benchLines, Pins: benchPins}, PinBank: jumper{r}, LongestGap: signal.Second}
}

func openOnPi(t testing.TB) *Bench {
	r := openPi(t)
	require.NoError(t, driveIdle(r))
	collector := debug.SetGCPercent(-1) // it would wait for the loop, and the loop for nobody
	t.Cleanup(func() { debug.SetGCPercent(collector) })
	b, err := New(onPi(r))
	require.NoError(t, err)
	return b
}

func TestPiBenchConforms(t *testing.T) {
	benchtest.Run(t, func(t testing.TB) benchtest.Subject {
		return benchtest.Subject{Bench: openOnPi(t), From: 0, To: 2, Delay: 100 * signal.Millisecond, Port: 0}
	})
}

func TestPiClosedBenchIsIdle(t *testing.T) {
	b := openOnPi(t)
	start := b.Now() + 20*signal.Millisecond
	require.NoError(t, b.Drive([]signal.Edge{{At: start, Line: 0, Level: true}}, start+signal.Second))
	_, err := b.Send(0, start, bytes.Repeat([]byte{0}, 1000)) // low nine bits of ten
	require.NoError(t, err)
	require.NoError(t, b.Wait(start))
	assert.Equal(t, "gpio_out hi", kernel(t, 17))
	require.NoError(t, b.Close())
	for range 20 {
		assert.Equal(t, "gpio_out lo", kernel(t, 17))
		assert.Equal(t, "gpio_out hi", kernel(t, 4), "a serial line rests high")
	}
}

// A killed program's lines stay where they were: going safe then takes another
// program, which needs no more than the registers.
func TestPiLinesOfAKilledBenchAreMadeSafeByAnother(t *testing.T) {
	r := openPi(t)
	left := map[string]int{}
	for i := range 8 {
		child := exec.Command("/proc/self/exe")
		child.Env = append(os.Environ(), childKey+"=play")
		out, err := child.StdoutPipe()
		require.NoError(t, err)
		require.NoError(t, child.Start())
		_, err = out.Read(make([]byte, 1)) // it plays
		require.NoError(t, err)
		time.Sleep(time.Duration(3+7*i) * time.Millisecond)
		require.NoError(t, child.Process.Kill())
		assert.ErrorContains(t, child.Wait(), "killed")

		was := r.Level()
		require.Equal(t, functionOutput, int(r.functionOf(17)))
		require.Equal(t, functionOutput, int(r.functionOf(4)))
		left[kernel(t, 17)]++
		assert.Equal(t, was, r.Level(), "the lines stand still")
		require.NoError(t, driveIdle(r))
		assert.Equal(t, "gpio_out lo", kernel(t, 17))
		assert.Equal(t, "gpio_out hi", kernel(t, 4))
	}
	t.Logf("as the killed program left GPIO17: %v", left)
}

// playForever plays pulses and bytes until it is killed, and says when it begins.
func playForever() error {
	r, err := OpenRegisters(pinout.Pi3)
	if err != nil {
		return err
	}
	if err := driveIdle(r); err != nil {
		return err
	}
	b, err := New(onPi(r))
	if err != nil {
		return err
	}
	level := false
	for at := b.Now() + 50*signal.Millisecond; ; at += 10 * signal.Millisecond {
		var edges []signal.Edge
		for i := range signal.Time(10) {
			level = !level
			edges = append(edges, signal.Edge{At: at + i*signal.Millisecond, Line: 0, Level: level})
		}
		if err := b.Drive(edges, at+9*signal.Millisecond); err != nil {
			return err
		}
		if _, err := b.Send(0, at, []byte{0x00, 0x55}); err != nil {
			return err
		}
		if err := b.Wait(at); err != nil {
			return err
		}
		fmt.Print(".")
	}
}
