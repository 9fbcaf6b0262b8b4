package main

import (
	"context"
	"errors"
	"fmt"
	"os"
	"os/exec"
	"path/filepath"
	"regexp"
	"strconv"
	"strings"
	"testing"
	"time"

	"github.com/rogpeppe/go-internal/testscript"
	"github.com/stretchr/testify/require"

	"hilrig/rig/raspberry/realtime"
	"hilrig/rig/raspberry/registers"
	"hilrig/rig/signal"
)

// The command's behaviour stands in testdata/script, a file each.
func TestScripts(t *testing.T) {
	testscript.Run(t, testscript.Params{
		Dir:                 filepath.Join("testdata", "script"),
		RequireUniqueNames:  true,
		RequireExplicitExec: true,
		UpdateScripts:       *update,
		Setup: func(e *testscript.Env) error {
			e.Setenv("XDG_STATE_HOME", filepath.Join(e.WorkDir, "state"))
			e.Setenv(locksKey, e.WorkDir)
			counts, digest := readmeRun(t)
			e.Setenv("README_COUNTS", counts)
			examples, err := filepath.Abs("../../rig/board/examples")
			if err != nil {
				return err
			}
			e.Setenv("EXAMPLES", examples)
			e.Setenv("README_DIGEST", digest)
			return nil
		},
		Condition: func(name string) (bool, error) {
			switch name {
			case "quiet":
				return quiet(), nil
			case "full": // the tag is given
				return inFull, nil
			case "pulses": // of a millisecond can be played and read here in real time
				fit, says := timingOf(t)
				t.Logf("this machine: %s", says)
				return fit, nil
			}
			return false, fmt.Errorf("condition %q is not known; use quiet, full or pulses", name)
		},
		Cmds: map[string]func(*testscript.TestScript, bool, []string){"exits": exits, "reaches": reaches, "awaits": awaits, "replace": replace},
	})
}

// quiet says whether what keeps real time may be tried: where somebody says with
// HILRIG_QUIET that no other tests run beside it, as .ci/run does.
func quiet() bool { return !testing.Short() && os.Getenv("HILRIG_QUIET") != "" }

// onlyInQuiet skips a test of what keeps real time elsewhere.
func onlyInQuiet(t *testing.T) {
	t.Helper()
	if !quiet() {
		t.Skip("keeps real time, and other tests may run beside it: bash .ci/run rehearsals runs it by itself")
	}
}

// bearsPulses measures for a second how well this machine keeps time, says so, and skips a test
// that needs it to keep time better.
func bearsPulses(t *testing.T) {
	t.Helper()
	fit, says := timingOf(t)
	t.Logf("this machine: %s", says)
	if !fit {
		t.Skip("it needs ", registers.Needed())
	}
}

// timingOf measures for a second, in a program of its own, how well this machine keeps time.
func timingOf(t *testing.T) (fit bool, says string) {
	t.Helper()
	path, err := os.Executable()
	require.NoError(t, err)
	c := &exec.Cmd{Path: path, Args: []string{measures}, Env: realtime.WorkerEnv(os.Environ())}
	out, err := c.CombinedOutput()
	return err == nil, string(out)
}

// measures is the name under which this program measures how well the machine keeps time.
const measures = "measure-time"

// measure does so, and ends with 1 where pulses would be uncertain.
func measure() {
	k, err := registers.TimingTrial{PinBank: &registers.Memory{}, For: signal.Second, Edges: 100e3}.Run(context.Background())
	if err != nil {
		fmt.Println(err)
		os.Exit(1)
	}
	fmt.Print(k.Brief())
	if !k.BearsPulses() {
		os.Exit(1)
	}
}

// exits CODE COMMAND runs a command and holds it to its exit code.
func exits(ts *testscript.TestScript, neg bool, args []string) {
	if neg || len(args) < 2 {
		ts.Fatalf("write it: exits CODE COMMAND...")
	}
	want, err := strconv.Atoi(args[0])
	ts.Check(err)
	got := 0
	if err := ts.Exec(args[1], args[2:]...); err != nil {
		var e *exec.ExitError
		if !errors.As(err, &e) {
			ts.Fatalf("%v", err)
		}
		got = e.ExitCode()
	}
	if got != want {
		ts.Fatalf("exit code %d, want %d", got, want)
	}
}

// reaches CODE PATTERN COMMAND runs a command whose outcome the machine's load can
// spoil, up to five times, until it ends with that exit code and its output fits.
func reaches(ts *testscript.TestScript, neg bool, args []string) {
	if neg || len(args) < 3 {
		ts.Fatalf("write it: reaches CODE PATTERN COMMAND...")
	}
	want, err := strconv.Atoi(args[0])
	ts.Check(err)
	pattern := regexp.MustCompile(args[1])
	for range 5 {
		got := 0
		var e *exec.ExitError
		if err := ts.Exec(args[2], args[3:]...); errors.As(err, &e) {
			got = e.ExitCode()
		} else {
			ts.Check(err)
		}
		if got == want && pattern.MatchString(ts.ReadFile("stdout")) {
			return
		}
	}
	ts.Fatalf("it never ended with %d and %q", want, args[1])
}

// replace OLD NEW FILE writes NEW wherever FILE has OLD.
func replace(ts *testscript.TestScript, neg bool, args []string) {
	if neg || len(args) != 3 {
		ts.Fatalf("write it: replace OLD NEW FILE")
	}
	text := ts.ReadFile(args[2])
	if !strings.Contains(text, args[0]) {
		ts.Fatalf("%s has no %q", args[2], args[0])
	}
	ts.Check(os.WriteFile(ts.MkAbs(args[2]), []byte(strings.ReplaceAll(text, args[0], args[1])), 0o600))
}

// awaits PATTERN [NAME] waits until a file that fits holds something, and
// copies it to NAME.
func awaits(ts *testscript.TestScript, neg bool, args []string) {
	if neg || len(args) < 1 || len(args) > 2 {
		ts.Fatalf("write it: awaits PATTERN [NAME]")
	}
	for end := time.Now().Add(time.Minute); time.Now().Before(end); time.Sleep(5 * time.Millisecond) {
		found, err := filepath.Glob(ts.MkAbs(args[0]))
		ts.Check(err)
		for _, path := range found {
			data, err := os.ReadFile(path)
			ts.Check(err)
			if len(data) == 0 {
				continue
			}
			if len(args) == 2 {
				ts.Check(os.WriteFile(ts.MkAbs(args[1]), data, 0o600))
			}
			return
		}
	}
	ts.Fatalf("nothing came to %s", args[0])
}

func TestMain(m *testing.M) {
	testscript.Main(m, map[string]func(){"hilrig": func() {
		stepClock(os.Getenv(turnsKey))
		main()
	}, measures: measure, "demoboard": demoBoard})
}
