package assertions

import (
	"testing"

	"github.com/stretchr/testify/assert"
)

// A serial port that is called after the wheel beside which its sensor sits is no encoder.
func TestWhatAFaultIsOnIsFoundByTheWholeName(t *testing.T) {
	for wire, encoder := range map[string]bool{
		"front_left": true, "rear_right_a": true, "rear_left_index": true, "front_right_tacho": true, "front_left_duty": true,
		"front_left_imu": false, "yaw_serial": false, "steer": false, "gain": false,
	} {
		assert.Equal(t, encoder, isEncoder(wire), wire)
		assert.Equal(t, !encoder && wire != "steer" && wire != "gain", isSerial(wire), wire)
	}
}
