package file_test

import (
	"encoding/json"
	"reflect"
	"regexp"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"hilrig/assertions/law"
	"hilrig/rig/signal"
	"hilrig/suites/file"
	"hilrig/suites/language"
)

// bareCar is a car file in short form, with no policy.
const bareCar = `car: bare
mass: 4 kg
wheelbase: 300 mm
track: 300 mm
wheel_radius: 50 mm
steering: [{pulse: 1000 us, left: 20 deg, right: 20 deg}, {pulse: 2000 us, left: -20 deg, right: -20 deg}]
`

// everyKey is a policy with every key at a value that none would be read as where it is left out.
const everyKey = `policy:
  demand: {model: single_track, wheelbase: 310 mm, understeer_gradient: 0.002 rad/(m/s2), steer: linear, lateral_limit: 6 m/s2, yaw_limit: 150 deg/s, speed_from: rear_mean, steer_rate: 20 ms, within: 4 %}
  turn_from: demand
  opposite_lock: share
  opposite_lock_share: 50 %
  understeer: {raise: [outside_rear, outside_front], lower: inside_front, front: 40 %, rear: 60 %}
  oversteer: {raise: outside_front, lower: [inside_rear], shares: vary}
  shift_at: {error: 60 deg/s, gain: 50 %, is: 8 %, within: 7 %, grows: saturating, most: 30 %, derivative_time: 15 ms}
  dead_shift: 2 %
  dead_band: 3 deg/s
  straight: {no_shift_below: 1.5 deg, full_from: 3 deg, demand_below: 5 deg/s, demand_full_from: 10 deg/s}
  gain_steps: [0 %, 50 %, 100 %]
  sum: kept
  cap: {of: 92 %, steer_above: 2 deg, cut: after_shift}
  sum_cap: 350 %
  floor: 5 %
  at_the_limit: move_partner
  at_the_cap: partner_only
  at_the_floor: scale
  traction_control: 20 %
  standstill: {no_shift_below: 0.5 m/s, full_from: 1 m/s}
  braking: no_shift
  reverse: mirrored
  smoothing: {filter: 20 ms, full_range_in: 300 ms}
  throttle_curve: calibrated
  loop_rate: {at_least: 200 Hz}
  response: {at_most: 12 ms, of: 90 %}
  longest_gap: 20 ms
  corrupt_frames: 0.1 %
  throttle_lost: {idle_within: 150 ms, recovers: power_cycle}
  steer_lost: {no_shift_within: 160 ms, recovers: throttle_at_idle}
  gain_lost: {value: 50 %, within: 140 ms, recovers: by_itself}
  receiver_lost: {idle_within: 170 ms, recovers: throttle_at_idle}
  receiver_flag: {idle_within: 50 ms, recovers: by_itself}
  yaw_lost: {no_shift_within: 100 ms, recovers: by_itself}
  yaw_frozen: {ignored: yes, recovers: by_itself}
  sequence_frozen: {no_shift_within: 90 ms, recovers: power_cycle}
  encoder_lost: {idle_within: 110 ms, recovers: by_itself}
  bad_checksum: ignored
  bad_pulse: ignored
  spike: {at_most: 6 %}
  recovers: throttle_at_idle
  safe_state: silent
  start: silent
  start_waits_for: [steer, yaw_rate]
  start_at_rest: 1 s
  arms: throttle_at_idle
  outputs_together: 400 us
  motors_equal_within: 3 %
  resolution: 0.25 %
  drives_better: yes
`

func TestAPolicyWithEveryKeyIsReadWhole(t *testing.T) {
	ms := signal.Millisecond
	want := law.Policy{
		Demand: &law.Demand{Wheelbase: 0.31, UndersteerGradient: 0.002, LateralLimit: 6, YawLimit: rad(150), SteerRate: 0.02,
			SpeedFrom: law.SpeedFromRear, SteerLinear: true, Within: 0.04},
		TurnFrom:     law.TurnFromDemand,
		OppositeLock: law.OppositeLockShare, OppositeLockShare: 0.5,
		Understeer: &law.Split{Raise: []law.Corner{"outside_rear", "outside_front"}, Lower: []law.Corner{"inside_front"}, Front: 0.4, Rear: 0.6},
		Oversteer:  &law.Split{Raise: []law.Corner{"outside_front"}, Lower: []law.Corner{"inside_rear"}, Varies: true},
		ShiftAt:    &law.ShiftAt{Error: rad(60), Gain: 0.5, Is: 0.08, Within: 0.07, Grows: law.GrowthSaturating, Most: 0.3, DerivativeTime: 0.015},
		DeadShift:  0.02, DeadBand: new(rad(3)),
		Straight:  &law.Straight{Steer: &law.Fade{From: rad(1.5), Full: rad(3)}, Demand: &law.Fade{From: rad(5), Full: rad(10)}},
		GainSteps: []float64{0, 0.5, 1},
		SumKept:   true,
		Cap:       &law.Cap{Of: 0.92, SteerAbove: rad(2), Cut: law.CapAfterShift},
		SumCap:    new(3.5), Floor: new(0.05),
		AtTheLimit: law.LimitMovePartner, AtTheCap: law.LimitPartnerOnly, AtTheFloor: law.LimitScale,
		TractionControl: new(0.2),
		Standstill:      &law.Fade{From: 0.5, Full: 1},
		Braking:         law.BrakingNoShift, Reverse: law.ReverseMirrored,
		Smoothing:     &law.Smoothing{Filter: 20 * ms, FullRangeIn: 300 * ms},
		ThrottleCurve: law.ThrottleCurveCalibrated,
		LoopRate:      new(200.0),
		Response:      &law.Response{AtMost: 12 * ms, Quantile: 0.9},
		LongestGap:    new(20 * ms), CorruptFrames: new(0.001),
		ThrottleLost:   &law.Loss{Then: law.LossIdle, Within: 150 * ms, Recovers: law.RecoversAtPowerCycle},
		SteerLost:      &law.Loss{Then: law.LossNoShift, Within: 160 * ms, Recovers: law.RecoversAtThrottleIdle},
		GainLost:       &law.Loss{Then: law.LossValue, Value: 0.5, Within: 140 * ms, Recovers: law.RecoversByItself},
		ReceiverLost:   &law.Loss{Then: law.LossIdle, Within: 170 * ms, Recovers: law.RecoversAtThrottleIdle},
		ReceiverFlag:   &law.Loss{Then: law.LossIdle, Within: 50 * ms, Recovers: law.RecoversByItself},
		YawLost:        &law.Loss{Then: law.LossNoShift, Within: 100 * ms, Recovers: law.RecoversByItself},
		YawFrozen:      &law.Loss{Then: law.LossIgnored, Recovers: law.RecoversByItself},
		SequenceFrozen: &law.Loss{Then: law.LossNoShift, Within: 90 * ms, Recovers: law.RecoversAtPowerCycle},
		EncoderLost:    &law.Loss{Then: law.LossIdle, Within: 110 * ms, Recovers: law.RecoversByItself},
		BadChecksum:    law.BadChecksumIgnored,
		BadPulse:       law.BadPulseIgnored,
		Spike:          new(0.06),
		Recovers:       law.RecoversAtThrottleIdle,
		SafeState:      law.OutputsSilent, StartState: law.OutputsSilent, StartWaitsFor: []law.Input{law.InputSteer, law.InputYawRate}, StartAtRest: new(signal.Second), Arms: law.RecoversAtThrottleIdle,
		OutputsTogether: new(400 * signal.Microsecond), MotorsEqualWithin: new(0.03), Resolution: new(0.0025),
		DrivesBetter: true,
	}
	v := reflect.ValueOf(want)
	for i := range v.NumField() {
		if v.Type().Field(i).Name == "Unsaid" { // of keys that are left out
			continue
		}
		assert.False(t, v.Field(i).IsZero(), "%s is not tried", v.Type().Field(i).Name)
	}
	c, err := file.ParseCar(language.Source{Path: "car.yaml", Data: []byte(bareCar + everyKey)})
	require.NoError(t, err)
	assert.Equal(t, want, c.Policy)
	assert.ElementsMatch(t, file.PolicyKeys(), c.Asked)
}

// The forms that a policy cannot have beside those of everyKey.
func TestOtherFormsOfAPolicy(t *testing.T) {
	for text, want := range map[string]law.Policy{
		"gain_lost: {held: yes}":                       {GainLost: &law.Loss{Then: law.LossHeld}},
		"gain_lost: {no_shift_within: 90 ms}":          {GainLost: &law.Loss{Then: law.LossNoShift, Within: 90 * signal.Millisecond}},
		"gain_lost: {idle_within: 90 ms}":              {GainLost: &law.Loss{Then: law.LossIdle, Within: 90 * signal.Millisecond}},
		"throttle_lost: {no_shift_within: 90 ms}":      {ThrottleLost: &law.Loss{Then: law.LossNoShift, Within: 90 * signal.Millisecond}},
		"straight: {no_shift_below: 2 deg}":            {Straight: &law.Straight{Steer: &law.Fade{From: rad(2), Full: rad(2)}}},
		"straight: {full_from: 2 deg}":                 {Straight: &law.Straight{Steer: &law.Fade{Full: rad(2)}}},
		"straight: {demand_below: 9 deg/s}":            {Straight: &law.Straight{Demand: &law.Fade{From: rad(9), Full: rad(9)}}},
		"standstill: {no_shift_below: 1 m/s}":          {Standstill: &law.Fade{From: 1, Full: 1}},
		"smoothing: {filter: 5 ms}":                    {Smoothing: &law.Smoothing{Filter: 5 * signal.Millisecond}},
		"cap: {of: 90 %}":                              {Cap: &law.Cap{Of: 0.9}},
		"drives_better: no":                            {},
		"corrupt_frames: 0 %":                          {CorruptFrames: new(0.0)},
		"understeer: {raise: rear_left, shares: vary}": {Understeer: &law.Split{Raise: []law.Corner{"rear_left"}, Varies: true}},
	} {
		c, err := file.ParseCar(language.Source{Path: "car.yaml", Data: []byte(bareCar + "policy:\n  " + text + "\n")})
		require.NoError(t, err, text)
		want.Unsaid = c.Policy.Unsaid
		assert.Equal(t, want, c.Policy, text)
	}
}

// What a policy's keys accept has to reach the checks: each word of each key makes another
// policy than every other word of it.
func TestNoWordOfAPolicyIsAcceptedAndNotRead(t *testing.T) {
	words := 0
	each := func(line, key string, among []string) {
		read := map[string]string{}
		for _, word := range among {
			text := withWord(t, line, key, word)
			c, err := file.ParseCar(language.Source{Path: "car.yaml", Data: []byte(bareCar + text)})
			require.NoError(t, err, "%s %s: %s", line, key, word)
			policy, err := json.Marshal(c.Policy)
			require.NoError(t, err)
			assert.Empty(t, read[string(policy)], "%s %s: %s and %s are read as the same", line, key, word, read[string(policy)])
			read[string(policy)] = word
			words++
		}
	}
	for i := range file.PolicyTable.Keys {
		k := &file.PolicyTable.Keys[i]
		switch k.Kind {
		case language.Word:
			each(k.Name, k.Name, k.Words)
		case language.Group:
			for j := range k.Table.Keys {
				if sub := &k.Table.Keys[j]; sub.Kind == language.Word {
					each(k.Name, sub.Name, sub.Words)
				}
			}
		}
	}
	assert.Greater(t, words, 80)
}

// contradicted is what in everyKey would contradict another word at a key, and what stands
// for it then.
var contradicted = map[string]*strings.Replacer{
	"opposite_lock": strings.NewReplacer("  opposite_lock_share: 50 %\n", ""),
	"grows":         strings.NewReplacer(", most: 30 %", ""),
	"shares":        strings.NewReplacer(", front: 40 %, rear: 60 %", ""),
	"raise":         strings.NewReplacer(", lower: inside_front, front: 40 %, rear: 60 %", "", ", lower: [inside_rear]", ""),
	"lower":         strings.NewReplacer("raise: [outside_rear, outside_front], ", "", ", front: 40 %, rear: 60 %", "", "raise: outside_front, ", ""),
	"recovers":      strings.NewReplacer("ignored: yes", "idle_within: 1 s"),
}

// withWord returns everyKey with a word at a key of the line that begins with another, or
// with the same.
func withWord(t *testing.T, line, key, word string) string {
	t.Helper()
	was := regexp.MustCompile(`(?m)^  ` + line + `: .*$`).FindString(everyKey)
	require.NotEmpty(t, was, line)
	at := regexp.MustCompile(`\b` + key + `: (\[[^]]*\]|[a-z_]+)`)
	is := at.ReplaceAllString(was, key+": "+word)
	if !at.MatchString(was) {
		is = strings.Replace(was, "{", "{"+key+": "+word+", ", 1)
	}
	text := strings.Replace(everyKey, was, is, 1)
	if other := contradicted[key]; other != nil && word != "share" {
		text = other.Replace(text)
	}
	return text
}

// What a policy says nothing of is told apart from what it says there is not.
func TestAPolicySaysThatThereIsNoneOrNothing(t *testing.T) {
	for text, want := range map[string]law.Unsaid{
		"spike: {at_most: 6 %}":              law.UnsaidStraight | law.UnsaidGainSteps,
		"straight: none":                     law.UnsaidGainSteps,
		"gain_steps: none":                   law.UnsaidStraight,
		"straight: none\n  gain_steps: none": 0,
		"straight: {no_shift_below: 1 deg}":  law.UnsaidGainSteps,
		"gain_steps: [0 %, 50 %]":            law.UnsaidStraight,
		"straight: {demand_below: 5 deg/s}":  law.UnsaidGainSteps,
	} {
		c, err := file.ParseCar(language.Source{Path: "car.yaml", Data: []byte(bareCar + "policy:\n  " + text + "\n")})
		require.NoError(t, err, text)
		assert.Equal(t, want, c.Policy.Unsaid, text)
	}
}

// TestLeavingAKeyOutIsAsNotWritingIt holds law.Policy.Without against the file's reader, key by key.
func TestLeavingAKeyOutIsAsNotWritingIt(t *testing.T) {
	read := func(policy string) law.Policy {
		c, err := file.ParseCar(language.Source{Path: "car.yaml", Data: []byte(bareCar + policy)})
		require.NoError(t, err, policy)
		return c.Policy
	}
	whole := read(everyKey)
	keys := file.PolicyKeys()
	assert.ElementsMatch(t, keys, law.Keys())
	needs := map[string]string{"opposite_lock_share": "opposite_lock", "opposite_lock": "opposite_lock_share", "cap": "at_the_cap", "floor": "at_the_floor"}
	for _, key := range keys {
		text, want := withoutLine(everyKey, key), whole.Without(key)
		if other := needs[key]; other != "" {
			text, want = withoutLine(text, other), want.Without(other)
		}
		assert.Equal(t, want, read(text), key)
	}
}

// withoutLine returns a policy without the line of a key.
func withoutLine(policy, key string) string {
	return regexp.MustCompile(`(?m)^  `+key+`: .*\n`).ReplaceAllString(policy, "")
}
