package main

import (
	"testing"

	"github.com/stretchr/testify/assert"

	"hilrig/suites/record"
	"hilrig/suites/report"
)

func TestRunSaysWhatItsTimingCost(t *testing.T) {
	assert.Empty(t, report.TimingCost(nil))
	assert.Empty(t, report.TimingCost(&record.Timing{Edges: 1000, LongestGapNS: 175}), "nothing was left out")
	assert.Equal(t, "rig's timing: 12 motor commands left out (sampler's gaps up to 300 us), 3 readings not used by checks",
		report.TimingCost(&record.Timing{Uncertain: 12, LongestGapNS: 300123, LeftOut: 3}))
	assert.Equal(t, "rig's timing: 1 edge played late, up to 2733 us, 2 case runs repeated",
		report.TimingCost(&record.Timing{Late: 1, LatestNS: 2732900, Again: 2}))
}
