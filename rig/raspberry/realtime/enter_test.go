package realtime

import (
	"bytes"
	"os"
	"os/exec"
	"runtime"
	"runtime/debug"
	"strconv"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"
)

func TestWorkerEnvKeepsWhatIsNotItsOwn(t *testing.T) {
	many := strconv.Itoa(max(LeastProcs, runtime.NumCPU()))
	tests := []struct {
		name      string
		env, want []string
	}{
		{"nothing set", []string{"HOME=/x"}, []string{"HOME=/x", "GODEBUG=asyncpreemptoff=1", "GOGC=off", "GOMEMLIMIT=off", "GOMAXPROCS=" + many}},
		{
			"the user's settings", []string{"GODEBUG=madvdontneed=1,asyncpreemptoff=0,gctrace=1", "GOMAXPROCS=7", "GOGC=50", "GOMEMLIMIT=1GiB"},
			[]string{"GODEBUG=madvdontneed=1,gctrace=1,asyncpreemptoff=1", "GOGC=off", "GOMEMLIMIT=off", "GOMAXPROCS=7"},
		},
		{
			"too few, and twice", []string{"GOMAXPROCS=9", "GOMAXPROCS=1", "GODEBUG="},
			[]string{"GODEBUG=asyncpreemptoff=1", "GOGC=off", "GOMEMLIMIT=off", "GOMAXPROCS=" + many},
		},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) { assert.Equal(t, tt.want, WorkerEnv(tt.env)) })
	}
}

// Whatever stood there, a program started with what WorkerEnv says starts itself no
// second time.
func TestOneStartIsEnough(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		name := rapid.SampledFrom([]string{"GODEBUG", "GOGC", "GOMEMLIMIT", "GOMAXPROCS", "HOME", ""})
		value := rapid.SampledFrom([]string{"", "asyncpreemptoff=1", "asyncpreemptoff=0,a=b,,", "off", "100", "1", "-4", "x", "="})
		var env []string
		for range rapid.IntRange(0, 6).Draw(t, "count") {
			env = append(env, name.Draw(t, "name")+rapid.SampledFrom([]string{"", "="}).Draw(t, "=")+value.Draw(t, "value"))
		}
		if once := WorkerEnv(env); !environmentFits(once) {
			t.Fatalf("%q becomes %q, which becomes %q", env, once, WorkerEnv(once))
		}
	})
}

// The program is started without what it needs, and starts itself with it.
func TestEnterRealTimeStartsTheProgramAnewOnce(t *testing.T) {
	if os.Getenv("HILRIG_HASTEN") != "" {
		if err := EnterRealTime(); err != nil {
			t.Fatal(err)
		}
		t.Logf("args %q GODEBUG %s procs %d gc %d", os.Args[0], os.Getenv("GODEBUG"), runtime.GOMAXPROCS(0), debug.SetGCPercent(-1))
		return
	}
	path, err := os.Executable()
	require.NoError(t, err)
	c := exec.Command(path, "-test.run=^TestEnterRealTimeStartsTheProgramAnewOnce$", "-test.v", "-test.count=1")
	c.Args[0] = "other-name"
	c.Env = []string{"HILRIG_HASTEN=1", "GODEBUG=madvdontneed=1", "GOMAXPROCS=1", "HOME=" + t.TempDir(), "PATH=" + os.Getenv("PATH")}
	out, err := c.CombinedOutput()
	require.NoError(t, err, "%s", out)
	assert.Contains(t, string(out), `args "other-name" GODEBUG madvdontneed=1,asyncpreemptoff=1 procs `+strconv.Itoa(max(LeastProcs, runtime.NumCPU()))+" gc -1")
	assert.Equal(t, 2, strings.Count(string(out), "=== RUN"), "started anew once: %s", out)
	assert.Equal(t, 1, bytes.Count(out, []byte("--- PASS")))
}
