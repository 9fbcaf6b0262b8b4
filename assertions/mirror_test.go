package assertions_test

import (
	"maps"
	"slices"
	"testing"

	"github.com/stretchr/testify/assert"
	"pgregory.net/rapid"

	"hilrig/assertions"
	"hilrig/assertions/law"
	"hilrig/rig/trace"
	"hilrig/stimulus"
)

// mirroredStep returns the step in a mirror.
func mirroredStep(s assertions.Step) assertions.Step {
	s.Steer, s.YawRate, s.Demand = -s.Steer, -s.YawRate, -s.Demand
	return s
}

// mirrored returns the evidence in a mirror: left and right change places.
func mirrored(e *assertions.Evidence) *assertions.Evidence {
	m := *e
	m.Trace = &trace.Trace{Start: e.Trace.Start, Tick: e.Trace.Tick}
	for w, from := range []int{1, 0, 3, 2} {
		m.Trace.Motor[w] = e.Trace.Motor[from]
	}
	m.Steps = nil
	for _, s := range e.Steps {
		m.Steps = append(m.Steps, mirroredStep(s))
	}
	return &m
}

// allChecks is one of each, by places in the turn.
func allChecks() []assertions.Check {
	places := law.Corners[4:]
	all := []assertions.Check{
		assertions.Shifted{Motors: places, Is: assertions.Raised},
		assertions.Shifted{Motors: places, Is: assertions.Lowered},
		assertions.Shifted{Motors: places, Is: assertions.Unchanged},
		assertions.SumKept{},
		assertions.InRange{Motors: places, Low: 0.1, High: 0.5},
		assertions.Equal{Motors: places, Within: 0.02},
		assertions.Mirrored{A: "hold", B: "other"},
		assertions.Scaled{Motors: places, Of: "hold", Times: 2, Within: 0.2},
	}
	steps := []string{"hold", "other"}
	all = append(all,
		assertions.Proportional{Motors: places, Steps: []string{"hold", "other", "hold"}, Within: 0.1},
		assertions.Monotone{Motors: places, Steps: steps, Rising: true},
		assertions.Monotone{Motors: places, Steps: steps},
		assertions.NoJump{Motors: places, Most: 0.1},
	)
	for _, of := range slices.Concat(assertions.Branches, slices.Sorted(maps.Keys(faultCases)), slices.Sorted(maps.Keys(lineCases))) {
		all = append(all, assertions.PolicyBranch{Of: of, Step: "hold"})
	}
	return all
}

func TestMirroredEvidenceHasTheSameVerdicts(t *testing.T) {
	level := rapid.SampledFrom([]float64{0, 0.3, 0.34, 0.392, 0.4, 0.41, 0.46, 0.52, 0.92, 1})
	rapid.Check(t, func(t *rapid.T) {
		random := func(assertions.Step, *law.Policy) [4]float64 {
			return [4]float64{level.Draw(t, "fl"), level.Draw(t, "fr"), level.Draw(t, "rl"), level.Draw(t, "rr")}
		}
		p := policy()
		p.TurnFrom = rapid.SampledFrom([]law.TurnFrom{0, law.TurnFromYawRate, law.TurnFromSteer}).Draw(t, "turn_from")
		hold := held(1, rapid.SampledFrom([]float64{-0.5, 0, 0.5, 1, 1.5}).Draw(t, "yaw"))
		hold.Throttle = rapid.SampledFrom([]float64{0.02, 0.4, 0.9}).Draw(t, "throttle")
		other := held(-1, 0.2)
		other.Name = "other"
		e := bench{board: random, policy: p, spread: 0.002}.play(onDemand(1), hold, other)
		m := mirrored(e)
		for _, c := range allChecks() {
			a, b := assertions.Judge(c, e), assertions.Judge(c, m)
			assert.Equal(t, verdicts(a), verdicts(b), "%#v", c)
			for i := range a {
				x, measured := a[i].Measurement()
				y, too := b[i].Measurement()
				assert.Equal(t, measured, too)
				assert.InDelta(t, x.Estimate, y.Estimate, 1e-9, "%#v: %s", c, a[i].Name)
				assert.InDelta(t, x.High, y.High, 1e-9)
				assert.Equal(t, a[i].At, b[i].At)
			}
		}
	})
}

// The same for the situations that live in time.
func TestMirroredCasesHaveTheSameVerdicts(t *testing.T) {
	for _, cases := range []map[string][]assertions.Step{faultCases, lineCases} {
		for of, steps := range cases {
			t.Run(of, func(t *testing.T) {
				var other []assertions.Step
				for _, s := range steps {
					s = mirroredStep(s)
					s.Faults = slices.Clone(s.Faults)
					for i := range s.Faults {
						if s.Faults[i].Kind == stimulus.Spike {
							s.Faults[i].By *= -1
						}
					}
					other = append(other, s)
				}
				step := ""
				if of == "start" {
					step = "power_up"
				}
				for _, change := range []func(*firmware){asDeclared, equalBoard, func(f *firmware) { f.bends, f.believesSpike, f.wraps, f.comesBack = true, true, true, true }} {
					a := judge(of, step, linePolicy(of), change, steps...)
					b := judge(of, step, linePolicy(of), change, other...)
					assert.Equal(t, verdicts(a), verdicts(b))
				}
			})
		}
	}
}
