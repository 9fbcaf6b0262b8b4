package live

import (
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"

	"hilrig/rig"
)

// deniedBench is a bench that was denied something.
type deniedBench struct {
	rig.Bench
	what []string
}

func (b deniedBench) Denied() []string { return b.what }

// What was denied is said once, however many benches are opened, and all of it is kept.
func TestWhatIsDeniedIsSaidOnceAndKept(t *testing.T) {
	var out strings.Builder
	d := &denials{out: &out}
	const priority, memory = "real-time priority 80: operation not permitted; give the program CAP_SYS_NICE, anew after each copy", "to keep memory in RAM: cannot allocate memory; give the program CAP_IPC_LOCK, anew after each copy"
	for range 3 {
		d.of(deniedBench{what: []string{priority, memory}})
		d.add("real-time priority 79: operation not permitted; give the program CAP_SYS_NICE, anew after each copy")
	}
	assert.Len(t, d.all(), 3)
	assert.Equal(t, 3, strings.Count(out.String(), "hilrig: warning: not granted: "))
	assert.Contains(t, out.String(), memory+"\n")
	silent := &denials{}
	silent.of(deniedBench{what: []string{priority}})
	silent.of(struct{ rig.Bench }{}) // one that does not say
	assert.Equal(t, []string{priority}, silent.all())
}
