package registers

import (
	"os"
	"strings"
)

// count returns the processor's time stamp counter, as of when all that stands before it is
// done (LFENCE, as Linux has it in rdtsc_ordered; from memory).
//
//go:noescape
func count() uint64

// uninterrupted says what a loop lacks here: nothing, no call tells it the time.
var uninterrupted []string

// counterFit says whether the counter runs evenly and alike on all processors:
// the kernel keeps its own time by it then.
func counterFit() bool {
	name, err := os.ReadFile("/sys/devices/system/clocksource/clocksource0/current_clocksource")
	return err == nil && strings.TrimSpace(string(name)) == "tsc"
}

func nanosecondsPerCount() uint64 { return measureScale() }
