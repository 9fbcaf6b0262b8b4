package main

import (
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"os"
	"os/exec"
	"path/filepath"
	"regexp"
	"strings"
	"time"
)

// result is what came of a broken version.
type result string

const (
	killed   result = "killed"
	survived result = "SURVIVED" // the test passed
	failed   result = "ERROR"    // it does not compile, takes too long, or the test fails without it
)

// building is what compiling and linking may take on top of a test.
const building = 5 * time.Minute

// tryAll tries the rows one after the other and prints what came of each.
func tryAll(rows []row, timeout time.Duration) error {
	began := time.Now()
	sound := map[string]error{} // what the tests say of the code as it is
	bad := 0
	for i, r := range rows {
		start := time.Now()
		what, note, err := r.try(sound, timeout)
		if err != nil {
			return fmt.Errorf("%s: %w", r.Name, err)
		}
		fmt.Printf("%3d/%d %5.1f s  %-8s  %s: %s\n", i+1, len(rows), time.Since(start).Seconds(), what, r.Name, r.Breaks)
		if what != killed {
			bad++
			fmt.Printf("%s\n%s, %s: %s\n", indent(note), r.File, r.In, r.killing(timeout))
		}
	}
	fmt.Printf("%d of %d were noticed, in %.0f s\n", len(rows)-bad, len(rows), time.Since(began).Seconds())
	if bad > 0 {
		return fmt.Errorf("%d broken versions were not noticed as they should be: see above", bad)
	}
	return nil
}

// try breaks the code and runs the row's test. The note says what went wrong where it
// was not killed.
func (r row) try(sound map[string]error, timeout time.Duration) (what result, note string, err error) {
	test := r.killing(timeout)
	key := strings.Join(append(test, fmt.Sprint(r.Killer.Env)), " ")
	if _, known := sound[key]; !known {
		out, err := goTest(append([]string{"-v"}, test...), r.Killer.Env, timeout)
		switch {
		case err != nil:
			err = fmt.Errorf("the test fails on the code as it is: %w\n%s", err, first(out))
		case !testPassed.MatchString(out):
			err = fmt.Errorf("no test is run here, or it is skipped: see what it needs\n%s", first(out))
		}
		sound[key] = err
	}
	if err := sound[key]; err != nil {
		return failed, err.Error(), nil
	}
	folder, err := os.MkdirTemp("", "mutation")
	if err != nil {
		return "", "", err
	}
	defer os.RemoveAll(folder)
	overlay, err := r.overlay(folder)
	if err != nil {
		return "", "", err
	}
	out, err := goTest(append([]string{"-count=1", "-overlay=" + overlay}, test...), r.Killer.Env, timeout)
	what, note = judge(out, err)
	return what, note, nil
}

// overlay writes the broken file and what go test takes to use it, into folder.
func (r row) overlay(folder string) (string, error) {
	changed, err := r.apply()
	if err != nil {
		return "", err
	}
	broken, path := filepath.Join(folder, filepath.Base(r.File)), filepath.Join(folder, "overlay.json")
	whole, err := filepath.Abs(r.File)
	if err != nil {
		return "", err
	}
	data, err := json.Marshal(map[string]map[string]string{"Replace": {whole: broken}})
	if err != nil {
		return "", err
	}
	return path, errors.Join(os.WriteFile(broken, changed, 0o600), os.WriteFile(path, data, 0o600))
}

// killing returns what go test is told to run the row's test.
func (r row) killing(timeout time.Duration) []string {
	test := []string{"-vet=off", "-timeout=" + timeout.String(), "-run=" + r.Killer.Run}
	if r.Killer.Tags != "" {
		test = append(test, "-tags="+r.Killer.Tags)
	}
	return append(test, r.Killer.Package)
}

// draws has tests that draw at random draw the same every time, shrink briefly what fails,
// and keep no file of it, and those that draw rows of a table play all of them.
var draws = []string{"HILRIG_DRAW=all", "RAPID_SEED=20260101", "RAPID_NOFAILFILE=true", "RAPID_SHRINKTIME=100ms"}

// goTest runs go test and returns what it printed.
func goTest(args []string, env map[string]string, timeout time.Duration) (string, error) {
	ctx, stop := context.WithTimeout(context.Background(), timeout+building)
	defer stop()
	cmd := exec.CommandContext(ctx, "go", append([]string{"test"}, args...)...)
	cmd.Env = append(os.Environ(), draws...)
	for name, value := range env {
		cmd.Env = append(cmd.Env, name+"="+value)
	}
	cmd.WaitDelay = 5 * time.Second
	out, err := cmd.CombinedOutput()
	return string(out), errors.Join(err, ctx.Err())
}

var testPassed = regexp.MustCompile(`(?m)^--- PASS: `)

var testFailed = regexp.MustCompile(`(?m)^\s*--- FAIL: |^panic: |^fatal error: `)

// judge says what go test's answer makes of a broken version.
func judge(out string, err error) (result, string) {
	switch {
	case err == nil:
		return survived, "the test passes on it"
	case strings.Contains(out, "panic: test timed out"), errors.Is(err, context.DeadlineExceeded):
		return failed, "the test takes too long on it: name one that fails at once\n" + first(out)
	case testFailed.MatchString(out):
		return killed, ""
	}
	return failed, "it cannot be tried: " + err.Error() + "\n" + first(out)
}

// first returns the first lines of a text.
func first(text string) string {
	lines := strings.SplitAfterN(strings.TrimSpace(text), "\n", 21)
	return strings.Join(lines[:min(len(lines), 20)], "")
}

func indent(text string) string { return "    " + strings.ReplaceAll(text, "\n", "\n    ") }
