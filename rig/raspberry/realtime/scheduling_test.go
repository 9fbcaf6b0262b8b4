package realtime

import (
	"testing"
	"testing/fstest"

	"github.com/stretchr/testify/assert"
)

func TestDefaultSchedulingTakesAProcessorThatCanBeSpared(t *testing.T) {
	tests := []struct {
		name, isolated, online string
		want                   Scheduling
	}{
		{"the last that is isolated", "2-3\n", "0-3\n", Scheduling{CPU: 4, Second: 3, Priority: 80, Lock: true}},
		{"isolated one by one", "1,3\n", "0-3\n", Scheduling{CPU: 4, Second: 2, Priority: 80, Lock: true}},
		{"three isolated", "1-3\n", "0-3\n", Scheduling{CPU: 4, Second: 3, Priority: 80, Lock: true}},
		{"one isolated", "3\n", "0-3\n", Scheduling{CPU: 4, Priority: 80, Lock: true}},
		{"isolated on a small machine", "1\n", "0-1\n", Scheduling{CPU: 2, Priority: 80, Lock: true}},
		{"none isolated, four there", "\n", "0-3\n", Scheduling{CPU: 4, Priority: 80, Lock: true}},
		{"none isolated, one of four off", "\n", "0-1,3\n", Scheduling{Lock: true}},
		{"none isolated, two there", "\n", "0-1\n", Scheduling{Lock: true}},
		{"not a list", "(null)\n", "0-1\n", Scheduling{Lock: true}},
		{"nothing known", "", "", Scheduling{Lock: true}},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			assert.Equal(t, tt.want, DefaultScheduling(fstest.MapFS{
				"sys/devices/system/cpu/isolated": {Data: []byte(tt.isolated)},
				"sys/devices/system/cpu/online":   {Data: []byte(tt.online)},
			}))
		})
	}
}

// What works beside the loop has a processor of its own where two are isolated, and there the supervisor goes before the ticks.
func TestWhatWorksBesideTheLoop(t *testing.T) {
	two := Scheduling{CPU: 4, Second: 3, Priority: LoopPriority, Lock: true}
	assert.Equal(t, Scheduling{CPU: 3, Priority: 79}, two.Beside(two.TickPriority()))
	assert.Equal(t, Scheduling{CPU: 3, Priority: 80}, two.Watching())
	assert.Greater(t, two.Watching().Priority, two.TickPriority())
	one := Scheduling{CPU: 4, Priority: LoopPriority, Lock: true}
	assert.Equal(t, Scheduling{Priority: 60}, one.Watching())
	assert.Zero(t, one.Beside(79).CPU)
}
