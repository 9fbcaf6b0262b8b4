package file_test

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"hilrig/assertions/law"
	"hilrig/rig/signal"
	"hilrig/suites/file"
	"hilrig/suites/language"
	"hilrig/suites/standard"
)

// Without a demand, shares are of the yaw rate with which the car itself goes round, and the
// baseline is straight on, where no firmware shifts.
func TestASuiteForAnyPolicyNeedsNoDemand(t *testing.T) {
	car, bench := bramble(t)
	demand := *car.Policy.Demand
	car.Policy.Demand = nil
	s, err := file.ParseSuite(language.Source{Path: "s.yaml", Data: []byte(`suite: s
any_policy: yes
defaults: {speed: 2 m/s, steer: 8 deg, throttle: 40 %, gain: 50 %}
cases:
  - case: a
    each: {turn: [left, right]}
    hold: {yaw_rate: 40 % of demand}
    expect: [{policy: understeer}, {policy: steer_lost}, {motor: all, is: unchanged}, {motor: all, range: [0 %, 92 %]}]
  - {case: b, steer: 0 deg, hold: {yaw_rate: 30 deg/s}, expect: [{policy: oversteer}]}
  - {case: c, hold: {}, expect: [{policy: on_demand}]}
`)}, car, bench)
	require.NoError(t, err)
	for i, side := range []float64{1, -1} {
		c := s.Cases[i]
		base, hold := c.Steps[0].Values, c.Steps[1].Values
		assert.Equal(t, [2]float64{0, 0}, [2]float64{base.Steer, base.YawRate})
		assert.Equal(t, side*rad(8), hold.Steer)
		// The demo's demand is that of its car to 1 % of the understeer gradient.
		assert.InEpsilon(t, 0.4*demand.YawRate(2, side*rad(8)), hold.YawRate, 0.01)
		assert.Zero(t, c.Steps[1].Demand, "the policy declares none")
		var why []string
		for _, x := range c.Expect {
			why = append(why, x.NotAsked)
		}
		assert.Equal(t, []string{"the policy has no demand", "", "the policy has no demand", ""}, why)
		assert.True(t, c.Asked())
	}
	assert.True(t, s.Cases[2].Asked(), "straight on, any demand is 0")
	assert.False(t, s.Cases[3].Asked())
}

// Beyond the grip of its tyres a car does not go round, and one that oversteers has no speed
// at which it goes round without end.
func TestTheCarsOwnYawRateIsBounded(t *testing.T) {
	car, bench := bramble(t)
	car.Policy.Demand = nil
	car.Car.FrontAxle, car.Car.RearAxle = car.Car.RearAxle, car.Car.FrontAxle
	data := "suite: s\nany_policy: yes\ndefaults: {steer: 8 deg, throttle: 40 %, gain: 50 %}\ncases:\n  - {case: a, each: {speed: [1 m/s, 4 m/s, 8 m/s, 20 m/s, -4 m/s]}, hold: {}, expect: [{policy: cap}]}\n"
	s, err := file.ParseSuite(language.Source{Path: "s.yaml", Data: []byte(data)}, car, bench)
	require.NoError(t, err)
	for _, c := range s.Cases {
		v := c.Steps[1].Values
		assert.Positive(t, v.YawRate*v.Speed, c.Variant)
		assert.LessOrEqual(t, v.YawRate*v.Speed, car.Car.Tyre.LateralMu*9.80665*(1+1e-9), c.Variant)
	}
}

func TestTheStandardSuitesAreForAnyPolicy(t *testing.T) {
	car, bench := bramble(t)
	p := &car.Policy
	p.Demand, p.StartAtRest, p.Arms = nil, new(signal.Second), law.RecoversAtThrottleIdle
	for _, l := range []**law.Loss{&p.GainLost, &p.ReceiverLost, &p.ReceiverFlag, &p.SequenceFrozen} {
		*l = &law.Loss{Then: law.LossIdle, Within: signal.Second}
	}
	for _, name := range standard.Names() {
		if name == "replay" {
			continue // it reads a log
		}
		path, data, _ := standard.Source(name)
		s, err := file.ParseSuite(language.Source{Path: path, Data: data}, car, bench)
		require.NoError(t, err, name)
		assert.True(t, s.AnyPolicy, name)
		asked := map[string]bool{}
		for i := range s.Cases {
			asked[s.Cases[i].Name] = asked[s.Cases[i].Name] || s.Cases[i].Asked()
		}
		for c, any := range asked {
			if name == "losses" {
				assert.True(t, any, "%s: %s", name, c)
			}
		}
	}
}
