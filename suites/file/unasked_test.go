package file_test

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"hilrig/assertions/law"
	"hilrig/suites/file"
	"hilrig/suites/language"
)

func TestWhatAnOwnSuiteExpectsInVainIsAMistake(t *testing.T) {
	tests := []struct {
		name, text string
		change     func(p *law.Policy)
		want       string // "": nothing
	}{
		{"nothing wrong", "hold: {yaw_rate: 70 % of demand}, expect: [{policy: understeer}]", nil, ""},
		{"no oversteer", "hold: {yaw_rate: 70 % of demand}, expect: [{policy: oversteer}]", nil,
			`s.yaml:4:58: policy: oversteer cannot be shown in case "a": this step is no oversteer: the demand is 46.9 deg/s, the yaw rate 32.8 deg/s; mend the step`},
		{"in one variant", "each: {yaw_rate: [70 % of demand, 160 % of demand]}, hold: {}, expect: [{policy: understeer}]", nil,
			`s.yaml:4:87: policy: understeer cannot be shown in case "a": this step is no understeer`},
		{"no fault", "hold: {}, expect: [{policy: yaw_lost}]", nil,
			`s.yaml:4:34: policy: yaw_lost cannot be shown in case "a": step "hold" plays no fault; add faults: to it, or name the step that has them`},
		{"the step before the fault", "steps: [{step: b}, {step: c, faults: [{wire: yaw_rate, is: lost}]}], expect: [{policy: yaw_lost, step: b}]", nil,
			`policy: yaw_lost cannot be shown in case "a": step "b" plays no fault`},
		{"the step of the fault", "steps: [{step: b, yaw_rate: 40 % of demand}, {step: c, faults: [{wire: yaw_rate, is: lost}]}], expect: [{policy: yaw_lost, step: c}]", nil, ""},
		{"gain up", "hold: {}, expect: [{policy: zero_gain}]", nil, `the gain stands at 50 % in this step; give it a gain of 0 %`},
		{"gain down", "hold: {gain: 0 %}, expect: [{policy: zero_gain}]", nil, ""},
		{"forwards", "hold: {}, expect: [{policy: reverse}]", nil, `the car does not roll backwards in this step; give it a speed below 0 m/s`},
		{"off demand", "hold: {yaw_rate: 90 % of demand}, expect: [{policy: on_demand}]", nil, `is not the demand, 46.89 deg/s; write yaw_rate: 100 % of demand`},
		{"no drive", "hold: {}, expect: [{policy: follows}]", nil, `nothing moves in step "hold"; replay a drive log`},
		{"too small", "hold: {yaw_rate: 95 % of demand}, expect: [{policy: understeer}]", nil,
			`s.yaml:4:58: policy: understeer asks nothing in case "a": the policy asks no motor for a clear shift in this step`},
		{"too small a share", "hold: {yaw_rate: -10 deg/s}, expect: [{policy: opposite_lock}]", func(p *law.Policy) {
			p.OppositeLock, p.OppositeLockShare = law.OppositeLockShare, 0.1
		}, `asks nothing in case "a": the policy asks no motor for a clear shift`},
		{"large enough a share", "hold: {yaw_rate: -10 deg/s}, expect: [{policy: opposite_lock}]", func(p *law.Policy) {
			p.OppositeLock, p.OppositeLockShare = law.OppositeLockShare, 0.5
		}, ""},
		{"not declared", "hold: {}, expect: [{policy: cap}]", func(p *law.Policy) { p.Cap = nil },
			"s.yaml:4:34: policy: cap asks nothing: the policy in demo/bramble.yaml has no cap; add cap: {of: 92 %} to the policy there, or leave the expectation out"},
		{"no demand", "hold: {steer: 0 deg, throttle: 92 %}, expect: [{policy: at_the_limit}]", func(p *law.Policy) { p.Demand = nil },
			"policy: at_the_limit asks nothing: the policy in demo/bramble.yaml has no demand; add demand: {model: single_track, "},
		{"asked in one variant", "each: {steer: [0 deg, 8 deg]}, hold: {}, expect: [{policy: cap}]", nil, ""},
		{"asked in none", "hold: {steer: 1 deg}, expect: [{policy: cap}]", nil,
			`s.yaml:4:46: policy: cap asks nothing in case "a": the cap holds above 2 deg of steering; this step has 1 deg`},
		{"by hand", "hold: {}, expect: [{motor: all, range: [0 %, 92 %]}]", nil, ""},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			car, bench := bramble(t)
			if tt.change != nil {
				tt.change(&car.Policy)
			}
			for _, anyPolicy := range []string{"no", "yes"} {
				data := "suite: s\ndefaults: {speed: 2 m/s, steer: 8 deg, throttle: 40 %, gain: 50 %}\ncases:\n  - {case: a, " + tt.text + "}\nany_policy: " + anyPolicy + "\n"
				s, err := file.ParseSuite(language.Source{Path: "s.yaml", Data: []byte(data)}, car, bench)
				require.NoError(t, err)
				got := file.Unasked(s, car, bench)
				if tt.want == "" || anyPolicy == "yes" {
					assert.Empty(t, got, anyPolicy)
					continue
				}
				require.Len(t, got, 1, "%v", got)
				assert.Contains(t, got[0].Error(), tt.want)
				assert.NotEmpty(t, got[0].Excerpt)
				assert.Equal(t, language.Mistake, got[0].Level)
			}
		})
	}
}
