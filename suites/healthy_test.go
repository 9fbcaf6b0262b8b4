package suites_test

import (
	"testing"

	"github.com/stretchr/testify/assert"

	"hilrig/suites"
	"hilrig/suites/record"
)

// TestHealthyBoardsAreNotFailed plays the standard suites to boards drawn at
// random, each with the car and bench file that declares it, and everything at
// least 10 % inside its limits: no check fails, and of 1000 at most one is left
// undecided.
func TestHealthyBoardsAreNotFailed(t *testing.T) {
	if testing.Short() {
		t.Skip("plays many minutes of driving")
	}
	checks, undecided := 0, 0
	for n := range uint64(healthyBoards) {
		h := drawHealthy(n + 1)
		f := bramble("", untimed...)
		f.Car, f.Bench, f.Seed = h.car, h.bench, n+1
		s := load(t, f)
		s.WithBoard("drawn", h.board)
		r, _ := play(t, s, suites.Options{})
		for _, trouble := range troubles(r) {
			t.Logf("board %d: %s", n+1, trouble)
		}
		if r.Counts.Fail > 0 || r.Outcome == record.NoGo {
			t.Logf("board %d:\n%s%s", n+1, h.car.Data, h.bench.Data)
		}
		assert.Zero(t, r.Counts.Fail, "board %d", n+1)
		checks += r.Counts.Pass + r.Counts.Fail + r.Counts.Undecided
		undecided += r.Counts.Undecided
	}
	assert.LessOrEqual(t, undecided*1000, checks)
	t.Logf("%d boards, %d checks, %d undecided", healthyBoards, checks, undecided)
}
