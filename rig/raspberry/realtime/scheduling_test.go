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
		{"the last that is isolated", "2-3\n", "0-3\n", Scheduling{CPU: 4, Priority: 80, Lock: true}},
		{"isolated one by one", "1,3\n", "0-3\n", Scheduling{CPU: 4, Priority: 80, Lock: true}},
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
