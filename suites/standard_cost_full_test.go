//go:build full && linux

package suites_test

import (
	"bytes"
	"context"
	"os"
	"path/filepath"
	"runtime"
	"sync"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"golang.org/x/sys/unix"

	"hilrig/assertions"
	"hilrig/suites"
	"hilrig/suites/record"
	"hilrig/suites/report/compare"
	"hilrig/suites/report/page"
)

// busy is how many times the processor time of a quiet machine a busy one may take: its processors share caches
// and clock.
const busy = 2

// processor returns the processor time in s that the process, or the thread, has used.
func processor(who int) float64 {
	var u unix.Rusage
	if err := unix.Getrusage(who, &u); err != nil {
		panic(err)
	}
	seconds := func(t unix.Timeval) float64 { return time.Duration(t.Nano()).Seconds() }
	return seconds(u.Utime) + seconds(u.Stime)
}

// What evidence costs of the standard suites: keeping it under 10 % of what playing takes, a page under 3 s and 3 MB,
// and holding two records against each other under 1 s.
func TestWhatEvidenceOfTheStandardSuitesCosts(t *testing.T) {
	setup, err := suites.Load(bramble(""))
	require.NoError(t, err)
	w, err := record.Begin(t.TempDir(), setup.Plan(), record.Host{}, setup.Inputs(), time.Now())
	require.NoError(t, err)
	var one sync.Mutex
	kept := 0.0
	keeping := func(keep func()) {
		runtime.LockOSThread()
		defer runtime.UnlockOSThread()
		from := processor(unix.RUSAGE_THREAD)
		keep()
		one.Lock()
		defer one.Unlock()
		kept += processor(unix.RUSAGE_THREAD) - from
	}
	from := processor(unix.RUSAGE_SELF)
	r, _, err := setup.Run(context.Background(), suites.Options{
		Workers: workers,
		Case:    func(suite, index int, c record.Case) { keeping(func() { _ = w.Case(suite, index, c) }) },
		Evidence: func(suite, index int, e *assertions.Evidence) {
			keeping(func() { suites.KeepAlong(w)(suite, index, e) })
		},
	})
	require.NoError(t, err)
	keeping(func() { require.NoError(t, w.Finish(r, 1, 1)) })
	played := processor(unix.RUSAGE_SELF) - from
	assert.Less(t, kept, 0.1*played)
	size := int64(0)
	require.NoError(t, filepath.WalkDir(w.Folder(), func(path string, d os.DirEntry, err error) error {
		if info, err := d.Info(); err == nil && info.Mode().IsRegular() {
			size += info.Size()
		}
		return err
	}))
	t.Logf("played in %.1f s of processor time, %.2f s of it to keep %.1f MB", played, kept, float64(size)/1e6)

	from = processor(unix.RUSAGE_SELF)
	before, err := compare.Read(w.Folder())
	require.NoError(t, err)
	after, err := compare.Read(w.Folder())
	require.NoError(t, err)
	c := compare.Of(before, after, setup.Known())
	took := processor(unix.RUSAGE_SELF) - from
	assert.Empty(t, c.Changes)
	assert.Less(t, took, 1.0*busy)
	t.Logf("compared in %.2f s", took)

	for _, of := range []struct {
		name  string
		write func(out *bytes.Buffer) error
	}{
		{"the record", func(out *bytes.Buffer) error { return page.Of(before.Record, page.Settings{}).Write(out) }},
		{"the comparison", func(out *bytes.Buffer) error { return page.OfComparison(c, before, after).Write(out) }},
	} {
		var out bytes.Buffer
		from = processor(unix.RUSAGE_SELF)
		require.NoError(t, of.write(&out))
		took := processor(unix.RUSAGE_SELF) - from
		assert.Less(t, took, 3.0*busy)
		assert.Less(t, out.Len(), 3_000_000)
		t.Logf("page of %s: %.2f s, %.2f MB", of.name, took, float64(out.Len())/1e6)
	}
}
