//go:build full

package suites

import (
	"runtime"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"hilrig/suites/file"
)

// A case as long as any may be, every step of it judged, stays within the memory that any
// case may take.
func TestTwoHoursStayWithinTheStatedMemory(t *testing.T) {
	s := loaded(t, long(60, "116.8 s"))
	require.Greater(t, s.Suites[0].Cases[0].Duration(s.Bench.Grid()), file.MostCaseTime*99/100)
	var before, after runtime.MemStats
	runtime.ReadMemStats(&before)
	r, _, err := s.Run(t.Context(), Options{})
	require.NoError(t, err)
	runtime.ReadMemStats(&after)
	assert.Equal(t, "pass", r.Suites[0].Cases[0].Verdict)
	t.Logf("%d MB more from the system", (after.Sys-before.Sys)>>20)
	assert.Less(t, float64(after.Sys-before.Sys), file.MostCaseMemory, "what was had from the system at most")
}
