package supervisor

import (
	"context"
	"io"
	"os"
	"path/filepath"
	"regexp"
	"runtime"
	"slices"
	"strconv"
	"strings"
	"sync"
	"sync/atomic"
	"syscall"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"golang.org/x/sys/unix"

	"hilrig/rig"
	"hilrig/rig/interlock"
	"hilrig/rig/raspberry/hostlines"
	"hilrig/rig/raspberry/realtime"
	"hilrig/rig/raspberry/registers"
	clock "hilrig/rig/signal"
)

// The tests' bank: a file, in which the worker drives line 9, low when idle, and
// line 10, high when idle.
const (
	stopPin, relayPin, beatPin = 17, 22, 27
	drivenLow, drivenHigh      = 9, 10
)

func partsIn(path string) Parts {
	return Parts{
		Pins: Pins{Stop: stopPin, Relay: relayPin, Heartbeat: beatPin},
		Safe: []Level{{drivenLow, false}, {drivenHigh, true}},
		Open: func() (hostlines.Lines, error) { return registers.OpenMemoryFile(path) },
	}
}

// The test program is also the worker that a supervisor under test starts.
func TestMain(m *testing.M) {
	if Inside() {
		os.Exit(work(os.Getenv("GUARD_TEST_BANK"), os.Getenv("GUARD_TEST_WORK")))
	}
	os.Exit(m.Run())
}

// work is what a worker of these tests does.
func work(path, kind string) int {
	w, err := Join(context.Background())
	if err != nil {
		println(err.Error())
		return 9
	}
	parts := partsIn(path)
	w.Holds(&parts)
	bank, _ := registers.OpenMemoryFile(path)
	bench := w.Bench(&fakeBench{bank: bank}, nil)
	if kind == "told" {
		said, _ := io.ReadAll(os.Stdin)
		kind = string(said)
	}
	began := time.Now()
	for w.Context().Err() == nil {
		after := time.Since(began) > 60*time.Millisecond
		switch {
		case after && kind == "panic":
			go panic("it broke")
			select {}
		case after && kind == "stall":
			select {}
		case after && kind == "exit":
			syscall.Exit(0) // at once, as a program without a race detector does
		case after && kind == "limit":
			w.tell(messageLimit)
		case after && kind == "silent":
			w.tell(messageSilent)
		case after && kind == "lost":
			w.tell(messageLost)
		case after && kind == "nonsense":
			w.tell(messageKinds)
		case after && kind == "short":
			bench.Close()
			w.Exiting()
			return 1
		}
		if err := bench.Wait(0); err != nil {
			println("worker:", err.Error())
			break
		}
		_ = bench.Drive([]clock.Edge{{}}, 0)
	}
	if kind == "deaf" { // it does not care
		for {
			w.Feed()
			time.Sleep(time.Millisecond)
		}
	}
	bench.Close()
	w.Exiting()
	return 5
}

// fakeBench keeps its lines away from idle while it is played on.
type fakeBench struct {
	rig.Bench
	bank *registers.MemoryFile
}

func (f *fakeBench) Wait(clock.Time) error {
	time.Sleep(time.Millisecond)
	return nil
}

func (f *fakeBench) Now() clock.Time { return 0 }

func (f *fakeBench) Drive([]clock.Edge, clock.Time) error {
	f.bank.Set(1 << drivenLow)
	f.bank.Clear(1 << drivenHigh)
	return nil
}

func (f *fakeBench) Safe() error { return f.Close() }

func (f *fakeBench) Close() error {
	f.bank.Clear(1 << drivenLow)
	f.bank.Set(1 << drivenHigh)
	return nil
}

// seen is one change of the bank.
type seen struct {
	at    time.Time
	level uint32
	gap   time.Duration // since the look before
}

// watch notes every change of the bank until it is told to end, and what it is then.
func watch(bank *registers.MemoryFile, ended *atomic.Bool) <-chan []seen {
	out := make(chan []seen, 1)
	go func() {
		all := []seen{{at: time.Now(), level: bank.Level()}}
		before := time.Now()
		for last := false; !last; {
			last = ended.Load() // before the look: the last one comes after the end, however late this goroutine is
			level := bank.Level()
			now := time.Now()
			if level != all[len(all)-1].level {
				all = append(all, seen{now, level, now.Sub(before)})
			}
			before = now
			runtime.Gosched()
			time.Sleep(50 * time.Microsecond)
		}
		out <- all
	}()
	return out
}

// starved is what a supervisor trips for where it or its worker is kept from the processor.
var starved = regexp.MustCompile("^no message from the worker|^the interlock itself stood still|^the worker had no message|^the worker lost its timing")

func TestEveryWayOutEndsSafe(t *testing.T) {
	for _, test := range []struct {
		name, work string
		power      interlock.Power
		during     func(bank *registers.MemoryFile)
		want       string // why it tripped; empty: it did not
		code       int
	}{
		{"the worker is done", "short", interlock.WheelsOffGround, nil, "", 1},
		{"the worker is done, signals only", "short", interlock.SignalsOnly, nil, "", 1},
		{"panic", "panic", interlock.WheelsOffGround, nil, "the worker died", 2},
		{"it ends without a message", "exit", interlock.WheelsOffGround, nil, "the worker died", 0},
		{"stall", "stall", interlock.MotorsNoWheels, nil, "no message from the worker for ", -1},
		{"stall, signals only", "stall", interlock.SignalsOnly, nil, "no message from the worker for ", -1},
		{"limit", "limit", interlock.WheelsOffGround, nil, "a motor command exceeded the bench's limit", 5},
		{"silent board", "silent", interlock.WheelsOffGround, nil, "the board fell silent", 5},
		{"lost timing", "lost", interlock.SignalsOnly, nil, "the worker lost its timing", 5},
		{"nonsense", "nonsense", interlock.WheelsOffGround, nil, "the worker speaks something else", 5},
		{"stop contact", "", interlock.WheelsOffGround, func(b *registers.MemoryFile) { b.Clear(1 << stopPin) }, "the stop contact opened", 5},
		{"stop contact, signals only", "", interlock.SignalsOnly, func(b *registers.MemoryFile) { b.Clear(1 << stopPin) }, "the stop contact opened", 5},
		{"SIGTERM", "", interlock.WheelsOffGround, func(*registers.MemoryFile) { _ = syscall.Kill(os.Getpid(), syscall.SIGTERM) }, "asked to end", 5},
		{"SIGHUP", "", interlock.WheelsOffGround, func(*registers.MemoryFile) { _ = syscall.Kill(os.Getpid(), syscall.SIGHUP) }, "the terminal was closed", 5},
		{"Ctrl-C to one that does not care", "deaf", interlock.WheelsOffGround, func(*registers.MemoryFile) { _ = syscall.Kill(os.Getpid(), syscall.SIGINT) }, "Ctrl-C", -1},
	} {
		t.Run(test.name, func(t *testing.T) {
			for range 10 {
				ending, all := superviseOnce(t, test.work, test.power, test.during)
				isSafe(t, all, test.power)
				// A machine that is busy may stall supervisor or worker by itself, or whoever looks:
				// once more, then.
				other := test.want == "" || !strings.HasPrefix(ending.Why, test.want) || ending.Code != test.code
				if ending.Tripped && starved.MatchString(ending.Why) && other || !wasOn(all, test.power) {
					t.Log("the machine was busy: ", ending.Why)
					continue
				}
				assert.Equal(t, test.want != "", ending.Tripped, ending.Why)
				assert.Contains(t, ending.Why, test.want)
				assert.Equal(t, test.code, ending.Code)
				return
			}
			t.Skip("the machine is too busy: supervisor or worker stood still ten times before the moment, and all ended safe")
		})
	}
}

// superviseOnce runs a worker once and returns what the bank did meanwhile.
func superviseOnce(t *testing.T, work string, power interlock.Power, during func(*registers.MemoryFile)) (Ending, []seen) {
	t.Helper()
	path := filepath.Join(t.TempDir(), "bank")
	bank, err := registers.OpenMemoryFile(path)
	require.NoError(t, err)
	bank.Set(1<<stopPin | 1<<drivenHigh)
	t.Setenv("GUARD_TEST_BANK", path)
	t.Setenv("GUARD_TEST_WORK", work)
	var ended atomic.Bool
	changes := watch(bank, &ended)
	var meanwhile sync.WaitGroup
	if during != nil {
		meanwhile.Go(func() {
			for bank.Level()>>drivenLow&1 == 0 && !ended.Load() {
				time.Sleep(time.Millisecond)
			}
			time.Sleep(20 * time.Millisecond)
			if !ended.Load() { // a signal that comes later would be another run's
				during(bank)
			}
		})
	}
	all := interlock.Parts{Stop: true, Relay: true, Heartbeat: true}
	ending, err := Run(Settings{Parts: partsIn(path), Power: power, Tested: all, Rotation: true, Confirmed: true, Watching: realtime.Scheduling{Priority: 50}})
	ended.Store(true)
	meanwhile.Wait()
	require.NoError(t, err)
	return ending, <-changes
}

// isSafe holds what was seen to: no supply at signals_only; all off at the end, and the relay
// closed once at most.
func isSafe(t *testing.T, all []seen, power interlock.Power) {
	t.Helper()
	end := all[len(all)-1].level
	assert.Zero(t, end&(1<<relayPin|1<<beatPin|1<<drivenLow), "%b", end)
	assert.NotZero(t, end&(1<<drivenHigh))
	closed := 0
	for i := 1; i < len(all); i++ {
		if all[i].level&^all[i-1].level>>relayPin&1 != 0 {
			closed++
		}
		if power == interlock.SignalsOnly {
			assert.Zero(t, all[i].level&(1<<relayPin|1<<beatPin))
		}
	}
	assert.LessOrEqual(t, closed, 1)
}

// wasOn says whether whoever looked saw the supply on, where there is to be one.
func wasOn(all []seen, power interlock.Power) bool {
	return power == interlock.SignalsOnly || slices.ContainsFunc(all, func(s seen) bool { return s.level>>relayPin&1 > 0 })
}

func TestNothingIsStartedWithAnOpenStopContact(t *testing.T) {
	path := filepath.Join(t.TempDir(), "bank")
	s := Settings{Parts: partsIn(path), Confirmed: true}
	_, err := Run(s)
	require.EqualError(t, err, "interlock: the stop contact is open; close it, or see to its wire")
	s.Open = func() (hostlines.Lines, error) { return nil, os.ErrPermission }
	_, err = Run(s)
	require.ErrorIs(t, err, os.ErrPermission)
}

func TestNothingGoesLiveWithoutATest(t *testing.T) {
	path := filepath.Join(t.TempDir(), "bank")
	bank, err := registers.OpenMemoryFile(path)
	require.NoError(t, err)
	bank.Set(1 << stopPin)
	t.Setenv("GUARD_TEST_BANK", path)
	t.Setenv("GUARD_TEST_WORK", "")
	ending, err := Run(Settings{Parts: partsIn(path), Power: interlock.WheelsOffGround, Confirmed: true})
	require.NoError(t, err)
	assert.Equal(t, Ending{Code: 5, Worker: "exit status 5"}, ending, "the worker was denied it")
	assert.Equal(t, uint32(1<<stopPin|1<<drivenHigh), bank.Level())
}

// A worker reads what the supervisor has for it. One that is to show how the motors turn goes
// live before anybody saw them, one that plays anything else does not.
func TestATrialGoesLiveAndReadsItsInput(t *testing.T) {
	for _, test := range []struct {
		name  string
		trial bool
		code  int
	}{{"a trial", true, 1}, {"anything else", false, 5}} {
		t.Run(test.name, func(t *testing.T) {
			path := filepath.Join(t.TempDir(), "bank")
			bank, err := registers.OpenMemoryFile(path)
			require.NoError(t, err)
			bank.Set(1<<stopPin | 1<<drivenHigh)
			t.Setenv("GUARD_TEST_BANK", path)
			t.Setenv("GUARD_TEST_WORK", "told")
			input, write, err := os.Pipe()
			require.NoError(t, err)
			defer input.Close()
			_, err = write.WriteString("short")
			require.NoError(t, err)
			require.NoError(t, write.Close())
			all := interlock.Parts{Stop: true, Relay: true, Heartbeat: true}
			s := Settings{Parts: partsIn(path), Power: interlock.MotorsNoWheels, Tested: all, Trial: test.trial, Confirmed: true, Input: input}
			ending, err := Run(s)
			for try := 0; err == nil && ending.Tripped && try < 10; try++ { // the machine was busy, and the input is read
				t.Log(ending.Why)
				s.Input = nil
				t.Setenv("GUARD_TEST_WORK", "short")
				ending, err = Run(s)
			}
			require.NoError(t, err)
			if ending.Tripped {
				t.Skip("the machine is too busy: ", ending.Why)
			}
			assert.Equal(t, test.code, ending.Code)
			assert.Equal(t, uint32(1<<stopPin|1<<drivenHigh), bank.Level())
		})
	}
}

func TestAWorkerWithoutASupervisorIsDenied(t *testing.T) {
	t.Setenv(marker, strconv.Itoa(1))
	assert.True(t, Inside())
	_, err := Join(t.Context())
	require.ErrorContains(t, err, "there is no supervisor; unset it")
	assert.False(t, Inside())
}

func TestFeedingAllocatesNothing(t *testing.T) {
	var ends [2]int
	require.NoError(t, unix.Pipe2(ends[:], unix.O_NONBLOCK|unix.O_CLOEXEC))
	w := newWorker(t.Context(), realtime.System{}, &pipes{out: ends[1], in: -1})
	assert.Zero(t, testing.AllocsPerRun(100, func() { w.fed = 0; w.Feed() }))
	said := make([]byte, 1<<16)
	n, err := unix.Read(ends[0], said)
	require.NoError(t, err)
	assert.Equal(t, 101*messageSize, n)
	kind, at, err := messageOf(said)
	require.NoError(t, err)
	assert.Equal(t, messageFed, kind)
	assert.InDelta(t, float64(realtime.System{}.Now()), float64(at), 1e9)
	for range 1 << 13 { // nobody reads, and it does not wait
		w.fed = 0
		w.Feed()
	}
	w.Feed()
	before := w.fed
	w.Feed()
	assert.Equal(t, before, w.fed, "not before 2 ms are over")
}

// Each Wait has the worker look after itself, on the way of the tick.
func TestLookingAfterItselfAllocatesNothing(t *testing.T) {
	var ends [2]int
	require.NoError(t, unix.Pipe2(ends[:], unix.O_NONBLOCK|unix.O_CLOEXEC))
	w := newWorker(t.Context(), realtime.System{}, &pipes{out: -1, in: ends[0]})
	alive := commandAlive.put("")
	assert.Zero(t, testing.AllocsPerRun(100, func() {
		_, _ = unix.Write(ends[1], alive)
		w.heard = 0
		w.pass()
		if w.heard == 0 {
			t.Error("it did not hear")
		}
	}))
	assert.Empty(t, w.Why())
}

// A signal that is not taken kills the supervisor at once, and what then makes all safe is only
// the worker. SIGHUP comes where a connection drops.
func TestSignalsThatWantItToEndAreTaken(t *testing.T) {
	for s, how := range map[os.Signal]string{
		syscall.SIGINT: "Ctrl-C", syscall.SIGTERM: "asked to end", syscall.SIGHUP: "the terminal was closed", syscall.SIGTSTP: "Ctrl-Z",
	} {
		assert.Equal(t, how, asking[s], "%v", s)
	}
}
