package raspberry

import (
	"fmt"
	"os"
	"testing"
)

// These tests keep real time. In CI they are left out while other tests run beside
// them; .ci/run has them run by themselves.
func TestMain(m *testing.M) {
	if os.Getenv("CI") == "true" && os.Getenv("HILRIG_QUIET") == "" {
		fmt.Println("left out here: they keep real time, and .ci/run has them run by themselves")
		return
	}
	os.Exit(m.Run())
}
