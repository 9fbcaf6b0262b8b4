package realtime

import (
	"os"
	"os/exec"
	"runtime"
	"strconv"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"golang.org/x/sys/unix"
)

func TestWhatIsDeniedNamesItsRemedy(t *testing.T) {
	denied := make(chan []string)
	go func() {
		denied <- Scheduling{CPU: 1000}.Ask()
	}()
	got := <-denied
	require.Len(t, got, 1)
	assert.Contains(t, got[0], "processor 999")
	assert.Contains(t, got[0], ";")
}

// In a program of its own, as its threads stay where they were moved to.
func TestThreadsLeaveTheLoopsProcessor(t *testing.T) {
	if os.Getenv("HILRIG_LEAVE") != "" {
		leave(t)
		return
	}
	path, err := os.Executable()
	require.NoError(t, err)
	c := exec.Command(path, "-test.run=^TestThreadsLeaveTheLoopsProcessor$", "-test.v", "-test.count=1")
	c.Env = append(os.Environ(), "HILRIG_LEAVE=1")
	out, err := c.CombinedOutput()
	require.NoError(t, err, "%s", out)
	if runtime.NumCPU() > 1 {
		assert.Contains(t, string(out), "--- PASS")
	}
}

func leave(t *testing.T) {
	var mine unix.CPUSet
	require.NoError(t, unix.SchedGetaffinity(0, &mine))
	last := 0
	for n := range 1000 {
		if mine.IsSet(n) {
			last = n
		}
	}
	if mine.Count() == 1 {
		assert.Error(t, leaveTo(Scheduling{CPU: last + 1}))
		return
	}
	for range 5 { // some threads to be moved
		go time.Sleep(time.Second)
		go runtime.LockOSThread()
	}
	require.NoError(t, leaveTo(Scheduling{CPU: last + 1}))
	threads, err := os.ReadDir("/proc/self/task")
	require.NoError(t, err)
	require.Greater(t, len(threads), 1)
	for _, d := range threads {
		id, err := strconv.Atoi(d.Name())
		require.NoError(t, err)
		var set unix.CPUSet
		if unix.SchedGetaffinity(id, &set) == nil {
			assert.False(t, set.IsSet(last), "thread %d", id)
			assert.Equal(t, mine.Count()-1, set.Count())
		}
	}

	// The loop's own thread moves there.
	denied, on := make(chan []string), make(chan bool)
	go func() {
		runtime.LockOSThread()
		denied <- Scheduling{CPU: last + 1}.Ask()
		var set unix.CPUSet
		on <- unix.SchedGetaffinity(0, &set) == nil && set.IsSet(last) && set.Count() == 1
	}()
	assert.Empty(t, <-denied)
	assert.True(t, <-on)
}

// Other threads leave both processors, and one that works beside the loop stays on its own.
func TestThreadsLeaveBothProcessors(t *testing.T) {
	of := func(processors ...int) (set unix.CPUSet) {
		for _, n := range processors {
			set.Set(n)
		}
		return set
	}
	two, one := Scheduling{CPU: 4, Second: 3}, Scheduling{CPU: 4}
	for _, tt := range []struct {
		name       string
		scheduling Scheduling
		is, want   unix.CPUSet
		moves      bool
	}{
		{"all four", two, of(0, 1, 2, 3), of(0, 1), true},
		{"with the second", two, of(0, 2), of(0), true},
		{"beside the loop", two, of(2), of(2), false},
		{"elsewhere", two, of(0, 1), of(0, 1), false},
		{"on the loop's alone", two, of(3), of(), true},
		{"none for what works beside", one, of(0, 1, 2, 3), of(0, 1, 2), true},
	} {
		set := tt.is
		assert.Equal(t, tt.moves, tt.scheduling.leave(&set), tt.name)
		assert.Equal(t, tt.want, set, tt.name)
	}
}
