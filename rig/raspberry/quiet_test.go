package raspberry

import (
	"os"
	"testing"
)

// inRealTime skips a test that keeps real time, which no machine does while other tests run
// beside it: it runs where somebody says with HILRIG_QUIET that none do. What such tests hold
// is held on a clock of their own by others, which always run.
func inRealTime(t testing.TB) {
	t.Helper()
	if os.Getenv("HILRIG_QUIET") == "" {
		t.Skip("keeps real time: bash .ci/run real-time runs it by itself")
	}
}
