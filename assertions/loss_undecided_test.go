package assertions_test

import (
	"testing"

	"github.com/stretchr/testify/assert"

	"hilrig/assertions"
	"hilrig/stimulus"
)

func TestFaultsThatShowNothingAreUndecided(t *testing.T) {
	tests := []struct {
		name, of string
		steps    []assertions.Step
		why      string
	}{
		{"no fault", "yaw_lost", []assertions.Step{base(), before(), after()}, "add faults: [{wire: yaw_rate, is: lost}]"},
		{"no such fault", "yaw_lost", []assertions.Step{base(), before(), under(after(), lost("steer"))}, "no such fault"},
		{"no step with the shift", "yaw_lost", []assertions.Step{base(), under(after(), lost("yaw_serial"))}, "no step before this one"},
		{"no shift asked before", "yaw_lost", []assertions.Step{base(), stretch(titled("before", held(1, 1)), 0, 300*ms), under(after(), lost("yaw_serial"))}, "the shift never was there before"},
		{"observed too briefly", "yaw_lost", []assertions.Step{base(), before(), under(stretch(titled("after", held(1, 0.5)), 0, 90*ms), lost("yaw_serial"))}, "observe at least twice as long"},
		{"the fault ends too early", "yaw_lost", []assertions.Step{base(), before(), under(after(), stimulus.Fault{Kind: stimulus.Lost, Wire: "yaw_serial", To: 80 * ms})}, "observe at least twice as long"},
		{"throttle at idle before", "throttle_lost", []assertions.Step{
			base(), with(before(), func(s *assertions.Step) { s.Throttle = 0 }), with(under(after(), lost("throttle")), func(s *assertions.Step) { s.Throttle = 0 }),
		}, "raise it"},
		{"the same value under a wrong checksum", "bad_checksum", []assertions.Step{base(), before(), under(after(), stimulus.Fault{Kind: stimulus.WrongChecksum, Wire: "yaw_serial"})}, "other side of the demand"},
		{"a spike too small", "spike", []assertions.Step{base(), before(), under(stretch(titled("after", held(1, 0.5)), 100*ms, 300*ms), stimulus.Fault{Kind: stimulus.Spike, Wire: "yaw_serial", By: 40 * deg, From: 200 * ms})}, "play a larger spike"},
		{"a spike too early", "spike", []assertions.Step{base(), before(), under(after(), stimulus.Fault{Kind: stimulus.Spike, Wire: "yaw_serial", By: 400 * deg})}, "too early"},
		{"the noise changes the branch", "spike", []assertions.Step{base(), before(), under(stretch(titled("after", held(1, -0.001)), 100*ms, 400*ms), stimulus.Fault{Kind: stimulus.Spike, Wire: "yaw_serial", By: 400 * deg, Frames: 1, From: 300 * ms})}, "from one branch to the other"},
		{"nothing to recover from", "recovers", []assertions.Step{base(), before(), after()}, "nothing to recover from"},
		{"other values after", "recovers", []assertions.Step{base(), before(), under(titled("lost", after()), lost("yaw_serial")), stretch(titled("after", held(1, 0.7)), 0, 600*ms)}, "give it the same"},
		{"the fault did nothing", "recovers", []assertions.Step{base(), before(), under(titled("lost", after()), stimulus.Fault{Kind: stimulus.Noisy, Wire: "steer"}), after()}, "nothing to recover from"},
		{"no power-up", "start", []assertions.Step{under(after(), lost("yaw_serial")), before()}, "power_up: yes"},
		{"every input valid", "start", []assertions.Step{with(after(), func(s *assertions.Step) { s.PowerUp = true }), before()}, "every input is valid"},
		{"never driven", "start", []assertions.Step{with(under(after(), lost("yaw_serial")), func(s *assertions.Step) { s.PowerUp = true })}, "no later step"},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			step := "after"
			results := judge(tt.of, step, lossPolicy(), nil, tt.steps...)
			assert.Equal(t, assertions.Undecided, assertions.Worst(results), "%+v", results)
			assert.Contains(t, results[0].Why, tt.why)
		})
	}
}

// A board that does nothing fails wherever its steps ask for something to be
// given up. An idle board is at idle without a throttle, and an equal one drives.
func TestNullBoardsFailEachFault(t *testing.T) {
	boards := map[string]func(*firmware){"silent": silentBoard, "constant idle": idleBoard, "equal torque": equalBoard, "random": randomBoard}
	rightly := map[string]assertions.Verdict{
		"throttle_lost equal torque": assertions.Pass, // it does give the throttle up
		"receiver_lost equal torque": assertions.Pass,
		"receiver_flag equal torque": assertions.Pass,
		"bad_pulse equal torque":     assertions.Pass,      // it leaves a bad pulse of the throttle out
		"start equal torque":         assertions.Fail,      // it drives at once
		"recovers random":            assertions.Undecided, // its means stray too far to be compared
		"spike random":               assertions.Undecided, // it moves without a spike too
		"bad_pulse random":           assertions.Undecided, // and without a bad pulse
	}
	for of, steps := range faultCases {
		for name, change := range boards {
			t.Run(of+" "+name, func(t *testing.T) {
				step := judgedStep(of)
				want := assertions.Fail
				if v, ok := rightly[of+" "+name]; ok {
					want = v
				}
				results := judge(of, step, lossPolicy(), change, steps...)
				assert.Equal(t, want, assertions.Worst(results), "%+v", results)
			})
		}
	}
}
