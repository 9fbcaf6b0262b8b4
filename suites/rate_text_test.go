package suites

import (
	"bytes"
	"encoding/json"
	"testing"

	"github.com/stretchr/testify/assert"

	"hilrig/plant"
	"hilrig/rig/trace"
)

// What was left out is reported, in print and in JSON; nothing is said of none.
func TestWhatRateLeftOutIsReported(t *testing.T) {
	r := &Rate{
		Loop:     LoopRate{Rate: 250, Frames: 400, LeftOut: 31},
		Response: Response{Changes: 254, LeftOut: 14, Motors: []MotorResponse{{Trials: 240, LeftOut: 14, Times: []float64{0.004}}}},
	}
	printed := func() string {
		var out bytes.Buffer
		printLoop(&out, &r.Loop)
		printResponse(&out, &r.Response)
		return out.String()
	}
	text := printed()
	assert.Contains(t, text, "\n          31 more frames left out: the rig played its own wires late\n")
	assert.Contains(t, text, "\n          14 more changes left out: the rig played its own wires late or may have missed the answer\n")
	data, err := json.Marshal(r.JSON(false))
	assert.NoError(t, err)
	assert.Contains(t, string(data), `"loop_left_out":31`)
	assert.Contains(t, string(data), `"trials":254,"trials_left_out":14`)
	r.Loop.LeftOut, r.Response.LeftOut = 0, 1
	text = printed()
	assert.NotContains(t, text, "frames left out")
	assert.Contains(t, text, " 1 more change left out")
}

// Of a line whose frames were too few to be timed, nothing is written as 0.
func TestWhatRateDidNotMeasureIsNoZero(t *testing.T) {
	open := []SeenEvent{{Kind: trace.Uncertain, Count: 730}}
	r := &Rate{Outputs: [4]OutputLine{
		{Wheel: plant.FrontLeft, Format: "servo_pulse"},
		{Wheel: plant.FrontRight, Format: "servo_pulse", Frames: 2},
		{Wheel: plant.RearLeft, Format: "servo_pulse", Events: open},
		{Wheel: plant.RearRight, Format: "servo_pulse", Frames: 3, Rate: 300, Length: 0.0015},
	}}
	var out bytes.Buffer
	printOutputs(&out, r)
	assert.Contains(t, out.String(), "front_left   silent: no frame came\n")
	assert.Contains(t, out.String(), "front_right  not measured: only 2 frames came\n")
	assert.Contains(t, out.String(), "rear_left    not measured: the sampler left open 730 frames, 730 uncertain\n")
	assert.NotContains(t, out.String(), "frames of one update")
	data, err := json.Marshal(r.JSON(false))
	assert.NoError(t, err)
	assert.Contains(t, string(data), `"loop_hz":{"estimate":null,"low":null,"high":null}`)
	assert.Contains(t, string(data), `"skew_most_s":null`)
	assert.Contains(t, string(data), `{"line":"rear_left","format":"servo_pulse","frames":0,"frames_left_open":730,"rate_hz":null,"jitter_rms_s":null,"frame_s":null}`)
	assert.Contains(t, string(data), `"frames":3,"rate_hz":300,"jitter_rms_s":0,"frame_s":0.0015}`)
}
