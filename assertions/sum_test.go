package assertions_test

import (
	"testing"

	"github.com/stretchr/testify/assert"

	"hilrig/assertions"
)

// A throttle that goes slowly from one of the firmware's steps to the next takes all four motors with it, once in a window: the
// sum then stands between the two. One that goes farther than four such steps tells nothing of where it will go next.
func TestASumThatGoesToAndFroByAStepOfEachMotor(t *testing.T) {
	tests := []struct {
		name             string
		by, resolution   float64
		farther, allowed float64 // by how much the step's sum lies apart from the baseline's, and what may be
		want             assertions.Verdict
	}{
		{"by a step of the line", 0.001, 0.001, 0, 0.01, assertions.Pass},
		{"by a step of the policy", 0.004, 0.005, 0, 0.03, assertions.Pass},
		{"by more than a step", 0.02, 0.005, 0, 0.01, assertions.Undecided},
		{"and the sum is not kept", 0.001, 0.001, 0.03, 0.01, assertions.Fail},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			p := policy()
			p.Resolution = new(tt.resolution)
			there := all(0.4)
			there[0] += tt.farther
			e := bench{board: levels(all(0.4), there), policy: p}.play(onDemand(1), held(1, 0.5))
			for _, s := range e.Steps {
				for w := range e.Trace.Motor {
					for k, f := range e.Trace.Motor[w].Frames {
						if f.End >= s.From && f.End < s.From+(s.To-s.From)/2 {
							e.Trace.Motor[w].Frames[k].Value += tt.by
						}
					}
				}
			}
			r := assertions.Judge(assertions.SumKept{Within: tt.allowed}, e)[0]
			assert.Equal(t, tt.want, r.Verdict, "%+v", r)
		})
	}
}
