//go:build pivm

package supervisor

import (
	"context"
	"fmt"
	"os"
	"os/exec"
	"os/signal"
	"strings"
	"syscall"
	"testing"
	"time"
	"unsafe"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"hilrig/rig/interlock"
	"hilrig/rig/raspberry/hostlines"
	"hilrig/rig/raspberry/pinout"
	"hilrig/rig/raspberry/registers"
	clock "hilrig/rig/signal"
)

// The supervisor and a worker that plays, each with the registers of an emulated Pi 3
// mapped (.ci/vm/pi-run): what is left on the lines once either has died.

var piParts = Parts{
	Pins: Pins{Stop: stopPin, Relay: relayPin, Heartbeat: beatPin},
	Safe: []Level{{drivenLow, false}, {drivenHigh, true}},
	Open: func() (hostlines.Lines, error) { return registers.OpenRegisters(pinout.Pi3) },
}

// resting is the registers, for a loop that leaves the emulator's one running
// processor to others, unknown to Go's scheduler.
type resting struct{ *registers.Registers }

func (r resting) Level() uint32 {
	rest := syscall.Timespec{Nsec: 50_000}
	_, _, _ = syscall.RawSyscall(syscall.SYS_NANOSLEEP, uintptr(unsafe.Pointer(&rest)), 0, 0)
	return r.Registers.Level()
}

// piKey names in the environment what the test's own program does as a child.
const piKey = "HILRIG_PI_GUARD"

func init() {
	act := map[string]func(how string) error{"supervisor": superviseOnPi, "work": workOnPi}
	role, how, _ := strings.Cut(os.Getenv(piKey), " ")
	if Inside() && role != "" {
		role = "work"
	}
	if act[role] == nil {
		return
	}
	if err := act[role](how); err != nil {
		fmt.Println(err)
		os.Exit(1)
	}
	os.Exit(0)
}

// superviseOnPi supervises a worker, and says how it ended.
func superviseOnPi(string) error {
	all := interlock.Parts{Stop: true, Relay: true, Heartbeat: true}
	ending, err := Run(Settings{Parts: piParts, Power: interlock.WheelsOffGround, Tested: all, Rotation: true, Confirmed: true})
	fmt.Printf("%s; %s\n", ending.Why, ending.Worker)
	return err
}

// workOnPi plays a square wave on one line and bytes on the other.
func workOnPi(how string) error {
	// A worker takes SIGTERM, which the death of its supervisor sends, and ends in order.
	ctx, stop := signal.NotifyContext(context.Background(), syscall.SIGTERM)
	defer stop()
	w, err := Join(ctx)
	if err != nil {
		return err
	}
	w.Holds(&piParts)
	r, err := registers.OpenRegisters(pinout.Pi3)
	if err != nil {
		return err
	}
	if err := piParts.makeSafe(r); err != nil {
		return err
	}
	b, err := registers.New(registers.Settings{Settings: hostlines.Settings{Layout: clock.Layout{
		Lines: []clock.LineSpec{{Name: "steer", Role: clock.SteerPulse}, {Name: "yaw_serial", Idle: true, Role: clock.SerialData}},
		Ports: []clock.PortSpec{{Name: "yaw_serial", Line: 1, Baud: 115200}},
	}, Pins: hostlines.Pins{drivenLow, drivenHigh}}, PinBank: resting{r}, LongestGap: clock.Second})
	if err != nil {
		return err
	}
	bench := w.Bench(b, nil)
	level, began := false, bench.Now()+20*clock.Millisecond
	for at := began; w.Context().Err() == nil; at += 5 * clock.Millisecond {
		level = !level
		if err := bench.Drive([]clock.Edge{{At: at, Line: 0, Level: level}}, at); err != nil {
			break
		}
		if _, err := bench.Send(0, at, []byte{0, 0, 0}); err != nil {
			break
		}
		if err := bench.Wait(at); err != nil {
			break
		}
		switch played := at - began; {
		case how == "killed" && played >= 100*clock.Millisecond:
			_ = syscall.Kill(os.Getpid(), syscall.SIGKILL)
		case how == "panic" && played >= 100*clock.Millisecond:
			panic("it broke")
		case how == "stall" && played >= 100*clock.Millisecond:
			time.Sleep(time.Hour)
		}
	}
	err = bench.Close()
	w.Exiting()
	return err
}

func TestPiIsSafeOnEveryWayOut(t *testing.T) {
	r, err := registers.OpenRegisters(pinout.Pi3)
	require.NoError(t, err)
	for _, c := range []struct {
		name, how string
		signal    syscall.Signal // to the supervisor; 0: none
		says      string
	}{
		{"worker killed", "killed", 0, "the worker died; signal: killed"},
		{"worker panics", "panic", 0, "the worker died; exit status 2"},
		{"worker stalls", "stall", 0, "no message from the worker for "},
		{"asked to end", "", syscall.SIGTERM, "asked to end; exit status 0"},
		{"supervisor killed", "", syscall.SIGKILL, ""},
	} {
		t.Run(c.name, func(t *testing.T) {
			// Nothing is wired to the emulator's stop input: it keeps the level that it had
			// as an output, as if its contact were closed.
			require.NoError(t, r.Output(stopPin, true))
			for _, pin := range []int{relayPin, beatPin, drivenLow, drivenHigh} {
				require.NoError(t, r.Input(pin, hostlines.PullDown))
			}
			supervisor := exec.Command("/proc/self/exe")
			supervisor.Env = append(os.Environ(), piKey+"=supervisor "+c.how)
			var said strings.Builder
			supervisor.Stdout, supervisor.Stderr = &said, &said
			require.NoError(t, supervisor.Start())
			relay, beats := watchRelay(r, 200*time.Millisecond)
			assert.True(t, relay, "the relay was closed")
			assert.Greater(t, beats, 10, "edges of the heartbeat")
			if c.signal != 0 {
				require.NoError(t, supervisor.Process.Signal(c.signal))
			}
			_ = supervisor.Wait() // how it ended is what it says
			assert.Contains(t, said.String(), c.says)
			if c.signal == syscall.SIGKILL {
				time.Sleep(500 * time.Millisecond) // its worker ends by itself
			}
			for range 20 {
				assert.Zero(t, r.Level()&(1<<relayPin|1<<drivenLow), said.String())
				assert.NotZero(t, r.Level()&(1<<drivenHigh), said.String())
				time.Sleep(time.Millisecond)
			}
			_, beats = watchRelay(r, 50*time.Millisecond)
			assert.Zero(t, beats, "the heartbeat has stopped")
		})
	}
}

// watchRelay looks at relay and heartbeat until they have been on for a while, or it has
// waited in vain, and returns whether the relay was closed and how often the
// heartbeat changed.
func watchRelay(r *registers.Registers, long time.Duration) (closed bool, beats int) {
	before := r.Level()
	var since time.Time
	for began := time.Now(); time.Since(began) < 10*long; time.Sleep(100 * time.Microsecond) {
		level := r.Level()
		if level>>relayPin&1 != 0 && !closed {
			closed, since = true, time.Now()
		}
		if (level^before)>>beatPin&1 != 0 {
			beats++
		}
		before = level
		if closed && time.Since(since) > long/4 {
			break
		}
	}
	return closed, beats
}
