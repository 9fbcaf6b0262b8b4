//go:build full

package search

import (
	"flag"
	"slices"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"golang.org/x/sys/unix"

	"hilrig/suites/campaign"
)

// used is the processor time of this process so far, s.
func used(t *testing.T) float64 {
	var u unix.Rusage
	require.NoError(t, unix.Getrusage(unix.RUSAGE_SELF, &u))
	return float64(u.Utime.Sec+u.Stime.Sec) + 1e-6*float64(u.Utime.Usec+u.Stime.Usec)
}

var mostDrives = flag.Int("seeded-drives", 5000, "after how many drives a seeded fault counts as not found")

var seededOnly = flag.String("seeded-only", "", "of the seeded faults, those that are played, such as no_cap,built-in/moment:rear_late; empty: all")

// oneMinute is what two processors do in a minute, s of processor time.
const oneMinute = 120

// chosen says whether a fault is played.
func chosen(board, fault string) bool {
	all := strings.Split(*seededOnly, ",")
	return *seededOnly == "" || slices.Contains(all, fault) || slices.Contains(all, board+":"+fault)
}

// The most of the seeded faults that have to be found are found with no suite, each in what two processors
// do in a minute. It is counted in processor time, for what runs beside the test takes the clock's.
func TestMostSeededFaultsAreFoundInAMinuteEach(t *testing.T) {
	var faults, found int
	for _, board := range campaign.Boards() {
		for _, f := range campaign.SeededInto(board) {
			if f.Harmless != "" || f.Unasked != "" || !chosen(board, f.Name) {
				continue
			}
			faults++
			began := used(t)
			var r *Result
			for most := 1; most <= mostFound; most++ { // what came once and not again does not end it
				r = searched(t, board+":"+f.Name, 1, Options{Drives: *mostDrives, Most: most, Tries: 1})
				if len(r.Found) > 0 || len(r.NotAgain) < most {
					break
				}
			}
			took := used(t) - began
			if len(r.Found) == 0 || took > oneMinute {
				t.Logf("%-16s %-24s not found in %d drives, %.1f s of processor time", board, f.Name, r.Drives, took)
				continue
			}
			found++
			t.Logf("%-16s %-24s drive %4d %6.1f s  %s", board, f.Name, r.Found[0].Drive, took, r.Found[0].Check)
		}
	}
	t.Logf("%d of %d found", found, faults)
	assert.GreaterOrEqual(t, found*80, faults*65, "65 of 80")
}
