package assertions_test

import (
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"hilrig/assertions"
	"hilrig/assertions/law"
	"hilrig/plant"
	"hilrig/rig/signal"
	"hilrig/stimulus"
)

// The steps that most cases of a fault are made of.
func base() assertions.Step   { return stretch(onDemand(1), 200*ms, 300*ms) }
func before() assertions.Step { return stretch(titled("before", held(1, 0.5)), 200*ms, 300*ms) }
func after() assertions.Step  { return stretch(titled("after", held(1, 0.5)), 0, 600*ms) }

// faultCases are the steps of a case of each situation that lives off faults.
var faultCases = map[string][]assertions.Step{
	"throttle_lost": {base(), before(), under(stretch(titled("lost", held(1, 0.5)), 0, 600*ms), lost("throttle"))},
	"steer_lost":    {base(), before(), under(stretch(titled("lost", held(1, 0.5)), 0, 600*ms), lost("steer"))},
	"yaw_lost":      {base(), before(), under(stretch(titled("lost", held(1, 0.5)), 0, 600*ms), lost("yaw_serial"))},
	"yaw_frozen":    {base(), before(), under(stretch(titled("lost", held(1, 0.5)), 0, 600*ms), stuck("yaw_serial"))},
	"encoder_lost":  {base(), before(), under(stretch(titled("lost", held(1, 0.5)), 0, 600*ms), lost("rear_left"))},
	"gain_lost":     {base(), before(), under(stretch(titled("lost", held(1, 0.5)), 0, 600*ms), lost("gain"))},
	"receiver_lost": {base(), before(), under(stretch(titled("lost", held(1, 0.5)), 0, 600*ms), lost("steer"), lost("throttle"), lost("gain"))},
	"receiver_flag": {base(), before(), under(stretch(titled("lost", held(1, 0.5)), 0, 600*ms), stimulus.Fault{Kind: stimulus.FailsafeFlag, Wire: "throttle"})},
	"sequence_frozen": {base(), before(), under(stretch(titled("lost", held(1, 0.5)), 0, 600*ms),
		stimulus.Fault{Kind: stimulus.SequenceStuck, Wire: "yaw_serial"})},
	"bad_checksum": {base(), before(), under(stretch(titled("wrong", held(1, 1.6)), 0, 600*ms),
		stimulus.Fault{Kind: stimulus.WrongChecksum, Wire: "yaw_serial", Every: 1})},
	"spike": {base(), before(), under(stretch(titled("spike", held(1, 0.5)), 100*ms, 400*ms),
		stimulus.Fault{Kind: stimulus.Spike, Wire: "yaw_serial", By: 400 * deg, Frames: 1, From: 300 * ms})},
	"bad_pulse": {base(), before(), under(stretch(titled("bad pulse", held(1, 0.5)), 100*ms, 400*ms),
		stimulus.Fault{Kind: stimulus.BadPulse, Wire: "throttle", Width: 300 * signal.Microsecond, Frames: 1, From: 300 * ms})},
	"recovers": {base(), before(), under(stretch(titled("lost", held(1, 0.5)), 0, 600*ms), lost("yaw_serial")), after()},
	"start": {
		with(under(stretch(titled("power_up", held(1, 0.5)), 100*ms, 300*ms), lost("yaw_serial")), func(s *assertions.Step) { s.PowerUp = true }),
		letGo(), stretch(titled("driven", held(1, 0.5)), 100*ms, 300*ms),
	},
	"arms":          {switchedOn(0), letGo(), stretch(titled("driven", held(1, 0.5)), 100*ms, 300*ms)},
	"start_at_rest": {switchedOn(0), letGo(), stretch(titled("driven", held(1, 0.5)), 100*ms, 300*ms)},
}

// switchedOn is the step of a power-up with every input there.
func switchedOn(speed float64) assertions.Step {
	return with(stretch(titled("power_up", held(1, 0.5)), 0, 600*ms), func(s *assertions.Step) { s.PowerUp, s.Speed, s.YawRate, s.Demand = true, speed, 0, 0 })
}

func letGo() assertions.Step {
	return with(stretch(titled("let go", held(1, 0.5)), 100*ms, 300*ms), func(s *assertions.Step) { s.Throttle = 0 })
}

// judgedStep is the step in which a situation is judged: the last, or that of the power-up.
func judgedStep(of string) string {
	if steps := faultCases[of]; !steps[0].PowerUp {
		return steps[len(steps)-1].Name
	}
	return "power_up"
}

func judge(of, step string, p *law.Policy, change func(*firmware), steps ...assertions.Step) []assertions.Result {
	tp := tape{firmware: newFirmware(p, change), ramps: ramps}
	return assertions.Judge(assertions.PolicyBranch{Of: of, Step: step}, tp.play(steps...))
}

func TestGoodFirmwarePassesEachFault(t *testing.T) {
	for of, steps := range faultCases {
		t.Run(of, func(t *testing.T) {
			step := judgedStep(of)
			results := judge(of, step, lossPolicy(), nil, steps...)
			assert.Equal(t, assertions.Pass, assertions.Worst(results), "%+v", results)
			for _, r := range results {
				assert.True(t, r.Measured(), r.Name)
				assert.Equal(t, step, r.Step)
			}
		})
	}
}

func TestTimesCountFromTheLastGoodFrame(t *testing.T) {
	tests := []struct {
		of       string
		low, up  float64 // ms: the firmware's timeout, and that with a turn of its loop and a frame
		quantity string
	}{
		{"throttle_lost", 100, 108, "the last good pulse of throttle"},
		{"steer_lost", 100, 108, "the last good pulse of steer"},
		{"yaw_lost", 60, 68, "the last good frame of yaw_serial"},
		{"yaw_frozen", 60, 68, "the last frame of yaw_serial with a fresh value"},
		{"gain_lost", 100, 108, "the last good pulse of gain"},
		{"receiver_lost", 100, 110, "the last pulse or frame of the receiver"},
		{"receiver_flag", 100, 110, "the last frame of the receiver without the failsafe flag"},
		{"sequence_frozen", 100, 110, "the last frame of yaw_serial with a fresh count"},
		{"encoder_lost", 50, 60, "the last edge of rear_left"},
	}
	for _, tt := range tests {
		t.Run(tt.of, func(t *testing.T) {
			r := judge(tt.of, "lost", lossPolicy(), nil, faultCases[tt.of]...)[0]
			assert.Contains(t, r.Must().Quantity, tt.quantity)
			assert.Equal(t, "ms", r.Must().Unit)
			assert.LessOrEqual(t, r.Must().Low, tt.up)
			assert.GreaterOrEqual(t, r.Must().High, tt.low)
			assert.LessOrEqual(t, r.Must().High-r.Must().Low, 8.5, "a frame's distance, and of a counter one more")
		})
	}
}

func TestFaultsThatAreNotMet(t *testing.T) {
	tests := []struct {
		name, of string
		change   func(*firmware)
		why      string
	}{
		{"throttle held for ever", "throttle_lost", func(f *firmware) { f.throttleAfter = signal.Second }, "still was commanded"},
		{"throttle given up late", "throttle_lost", func(f *firmware) { f.throttleAfter = 160 * ms }, "150 ms are allowed"},
		{"silent where idle is asked", "throttle_lost", func(f *firmware) { f.silentWhenSafe = true }, "sent its last command"},
		{"steering held", "steer_lost", func(f *firmware) { f.steerAfter = signal.Second }, "still was shifted"},
		{"yaw held", "yaw_lost", func(f *firmware) { f.yawAfter = signal.Second; f.frozenAfter = signal.Second }, "still was shifted"},
		{"yaw given up late", "yaw_lost", func(f *firmware) { f.yawAfter, f.frozenAfter = 110*ms, signal.Second }, "100 ms are allowed"},
		{"frozen yaw believed", "yaw_frozen", func(f *firmware) { f.frozenAfter = signal.Second }, "still was shifted"},
		{"encoder loss unnoticed", "encoder_lost", func(f *firmware) { f.encoderAfter = signal.Second }, "still was shifted"},
		{"the shift comes back", "yaw_lost", func(f *firmware) { f.comesBack = true }, "came back"},
		{"dies of it", "yaw_lost", func(f *firmware) { f.dies = true }, "sent its last command"},
		{"checksum not looked at", "bad_checksum", func(f *firmware) { f.believesChecksum = true }, "with the value of"},
		{"bad frames keep the last value alive", "bad_checksum", func(f *firmware) { f.yawAfter = signal.Second }, "still was shifted"},
		{"spike believed", "spike", func(f *firmware) { f.believesSpike = true }, "a frame that told 445 deg/s"},
		{"bad pulse believed", "bad_pulse", func(f *firmware) { f.believesPulse = true }, "after a pulse of throttle that was 300 us wide"},
		{"never recovers", "recovers", func(f *firmware) { f.neverRecovers = true }, "is commanded to"},
		{"drives at once", "start", func(f *firmware) { f.drivesAtOnce = true }, "after power-up"},
		{"gain held", "gain_lost", func(f *firmware) { f.gainAfter = signal.Second }, "still was shifted"},
		{"receiver held", "receiver_lost", func(f *firmware) { f.throttleAfter = signal.Second }, "still was commanded"},
		{"the flag does not count", "receiver_flag", func(f *firmware) { f.throttleAfter = signal.Second }, "without the failsafe flag"},
		{"the counter does not count", "sequence_frozen", func(f *firmware) { f.countAfter = signal.Second }, "still was shifted"},
		{"drives before the throttle was let go", "arms", func(f *firmware) { f.neverWaits = true }, "after power-up"},
		{"drives before it rested", "start_at_rest", func(f *firmware) { f.neverWaits = true }, "after power-up"},
		{"silent at first where idle is asked", "start", func(f *firmware) { f.silentAtStart = true }, "sent no command"},
		{"silent where idle is asked while it waits for the throttle", "arms", func(f *firmware) { f.silentAtStart = true }, "sent no command"},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			steps := faultCases[tt.of]
			step := judgedStep(tt.of)
			results := judge(tt.of, step, lossPolicy(), tt.change, steps...)
			require.Equal(t, assertions.Fail, assertions.Worst(results), "%+v", results)
			var why strings.Builder
			for _, r := range results {
				if r.Verdict == assertions.Fail {
					why.WriteString(r.Why)
				}
			}
			assert.Contains(t, why.String(), tt.why)
		})
	}
}

// A shift that by the policy may count as none need not be seen to go away in a fault, so that nothing is asked of its coming back;
// where no size is declared, one that is not seen leaves that open.
func TestAfterAFaultAShiftThatMayCountAsNoneNeedNotComeBack(t *testing.T) {
	little := func(name string, settle signal.Time) assertions.Step {
		return stretch(titled(name, held(1, 0.95)), settle, 600*ms)
	}
	steps := []assertions.Step{base(), little("before", 200*ms), under(little("lost", 0), lost("yaw_serial")), little("after", 0)}
	for _, way := range []law.Recovers{law.RecoversByItself, law.RecoversAtPowerCycle} {
		p := lossPolicy()
		p.Recovers = way
		results := judge("recovers", "after", p, nil, steps...)
		assert.Equal(t, assertions.NotAsked, assertions.Worst(results), "%+v", results)
		p.ShiftAt = nil
		results = judge("recovers", "after", p, nil, steps...)
		assert.Equal(t, assertions.Undecided, assertions.Worst(results), "%+v", results)
	}
}

// The ways of recovery, over the steps that a suite plays for all of them.
func TestRecoversAsDeclared(t *testing.T) {
	idled := stretch(titled("idle", with(held(1, 0.5), func(s *assertions.Step) { s.Throttle = 0 })), 0, 300*ms)
	again := titled("again", after())
	ways := []law.Recovers{law.RecoversByItself, law.RecoversAtThrottleIdle, law.RecoversAtPowerCycle}
	for _, fault := range []stimulus.Fault{lost("yaw_serial"), lost("throttle")} {
		steps := []assertions.Step{base(), before(), under(titled("lost", after()), fault), after(), idled, again}
		for _, word := range ways {
			t.Run(fault.Wire+" "+word.String(), func(t *testing.T) {
				p := lossPolicy()
				p.Recovers = word
				for _, step := range []string{"after", "again"} {
					results := judge("recovers", step, p, nil, steps...)
					assert.Equal(t, assertions.Pass, assertions.Worst(results), "%s: %+v", step, results)
				}
			})
			for _, other := range ways {
				if other == word {
					continue
				}
				t.Run(fault.Wire+" "+word.String()+" where "+other.String()+" is asked", func(t *testing.T) {
					p, asked := lossPolicy(), lossPolicy()
					p.Recovers, asked.Recovers = word, other
					tp := tape{firmware: newFirmware(p, nil)}
					e := tp.play(steps...)
					e.Policy = asked
					results := append(assertions.Judge(assertions.PolicyBranch{Of: "recovers", Step: "after"}, e), assertions.Judge(assertions.PolicyBranch{Of: "recovers", Step: "again"}, e)...)
					assert.Equal(t, assertions.Fail, assertions.Worst(results), "%+v", results)
				})
			}
		}
	}
}

func TestSilenceAsDeclared(t *testing.T) {
	quiet := func(f *firmware) { f.silentWhenSafe, f.silentAtStart = true, true }
	p := lossPolicy()
	p.SafeState, p.StartState = law.OutputsSilent, law.OutputsSilent
	for _, of := range []string{"throttle_lost", "start"} {
		step := map[string]string{"throttle_lost": "lost", "start": "power_up"}[of]
		t.Run(of, func(t *testing.T) {
			results := judge(of, step, p, quiet, faultCases[of]...)
			assert.Equal(t, assertions.Pass, assertions.Worst(results), "%+v", results)
			results = judge(of, step, p, nil, faultCases[of]...)
			assert.Equal(t, assertions.Fail, assertions.Worst(results), "idle where silence is asked: %+v", results)
		})
	}
	t.Run("either", func(t *testing.T) {
		p := lossPolicy()
		for _, p.SafeState = range []law.Outputs{0, law.OutputsIdleOrSilent} {
			for _, change := range []func(*firmware){nil, quiet} {
				results := judge("throttle_lost", "lost", p, change, faultCases["throttle_lost"]...)
				assert.Equal(t, assertions.Pass, assertions.Worst(results), "%+v", results)
				assert.InDelta(t, 104, results[0].Must().Estimate, 6)
			}
			results := judge("throttle_lost", "lost", p, func(f *firmware) { f.throttleAfter = 60 * signal.Second }, faultCases["throttle_lost"]...)
			assert.Equal(t, assertions.Fail, assertions.Worst(results), "it drives on: %+v", results)
		}
		p.StartState = law.OutputsIdleOrSilent
		for _, change := range []func(*firmware){nil, quiet} {
			results := judge("start", "power_up", p, change, faultCases["start"]...)
			assert.Equal(t, assertions.Pass, assertions.Worst(results), "%+v", results)
			assert.Equal(t, "start: outputs idle or silent until the inputs are valid", results[0].Name)
		}
		results := judge("start", "power_up", p, func(f *firmware) { f.drivesAtOnce = true }, faultCases["start"]...)
		assert.Equal(t, assertions.Fail, assertions.Worst(results), "it drives: %+v", results)
	})
}

// A board that goes on as the policy lets it passes; one that gives the shift up, or holds
// another gain, fails.
func TestWhatGoesOnAfterALoss(t *testing.T) {
	for _, of := range []string{"steer_lost", "gain_lost", "yaw_lost", "yaw_frozen", "sequence_frozen", "receiver_flag"} {
		t.Run(of, func(t *testing.T) {
			p := lossPolicy()
			*map[string]**law.Loss{
				"steer_lost": &p.SteerLost, "gain_lost": &p.GainLost, "yaw_lost": &p.YawLost, "yaw_frozen": &p.YawFrozen,
				"sequence_frozen": &p.SequenceFrozen, "receiver_flag": &p.ReceiverFlag,
			}[of] = &law.Loss{Then: law.LossIgnored}
			never := func(f *firmware) {
				const never = 60 * signal.Second
				f.throttleAfter, f.steerAfter, f.gainAfter, f.countAfter, f.yawAfter, f.frozenAfter = never, never, never, never, never, never
			}
			steps := append(faultCases[of], after())
			results := append(judge(of, "lost", p, never, steps...), judge("recovers", "after", p, never, steps...)...)
			assert.Equal(t, assertions.Pass, assertions.Worst(results), "%+v", results)
			results = judge(of, "lost", p, nil, steps...)
			assert.Equal(t, assertions.Fail, assertions.Worst(results), "%+v", results)
			// Of a shift that saturates no size is declared, and it stays as it was before all the same.
			for want, change := range map[assertions.Verdict]func(f *firmware){assertions.Pass: never, assertions.Fail: nil} {
				e := (&tape{firmware: newFirmware(p, change)}).play(steps...)
				saturates, at := *p, *p.ShiftAt
				at.Grows, at.Most = law.GrowthSaturating, 0.2
				saturates.ShiftAt = &at
				e.Policy = &saturates
				results := assertions.Judge(assertions.PolicyBranch{Of: of, Step: "lost"}, e)
				assert.Equal(t, want, assertions.Worst(results), "%+v", results)
			}
			p.Understeer = nil
			e := (&tape{firmware: newFirmware(lossPolicy(), never)}).play(steps...)
			e.Policy = p
			results = assertions.Judge(assertions.PolicyBranch{Of: of, Step: "lost"}, e)
			assert.Equal(t, assertions.NotAsked, assertions.Worst(results), "where nothing says which motors: %+v", results)
		})
	}
}

// Of a loss that the policy does not speak of, no recovery is asked, nor that the board waits
// for the signal after power-up.
func TestNothingIsAskedOfALossThatIsLeftOut(t *testing.T) {
	p := lossPolicy()
	p.YawLost, p.StartWaitsFor = nil, nil
	for of, steps := range map[string][]assertions.Step{"recovers": faultCases["recovers"], "start": faultCases["start"]} {
		results := judge(of, judgedStep(of), p, func(f *firmware) { f.drivesAtOnce, f.neverRecovers = true, true }, steps...)
		require.Len(t, results, 1)
		assert.Equal(t, assertions.NotAsked, results[0].Verdict)
		assert.Contains(t, results[0].Why, "the policy has no yaw_lost")
	}
	p = lossPolicy()
	p.Recovers = 0
	results := judge("recovers", "after", p, nil, faultCases["recovers"]...)
	assert.Equal(t, assertions.NotAsked, results[0].Verdict)
}

// Where each channel of the receiver has its own line, all of them lost is each of them lost.
func TestWhatItTakesToDriveAgainAfterLossesTogether(t *testing.T) {
	p := lossPolicy()
	all := []stimulus.Fault{lost("throttle"), lost("steer"), lost("gain")}
	assert.Equal(t, law.RecoversByItself, assertions.Recovery(p, all))
	p.ThrottleLost.Recovers = law.RecoversAtPowerCycle
	assert.Equal(t, law.RecoversAtPowerCycle, assertions.Recovery(p, all))
	assert.Equal(t, law.RecoversByItself, assertions.Recovery(p, all[1:2]))
	steps := []assertions.Step{base(), before(), under(stretch(titled("lost", held(1, 0.5)), 0, 600*ms), all...), after()}
	asked := func() bool {
		return assertions.Plan(assertions.PolicyBranch{Of: "recovers"}, &assertions.Evidence{Policy: p, Steps: steps, CommandStep: 0.001})[0].Asked
	}
	assert.False(t, asked(), "the throttle asks for a power cycle, and the receiver for none")
	p.ReceiverLost.Recovers, p.SteerLost.Recovers, p.GainLost.Recovers = law.RecoversAtPowerCycle, law.RecoversAtPowerCycle, law.RecoversAtPowerCycle
	assert.True(t, asked())

	p = lossPolicy()
	p.Recovers, p.ReceiverLost.Recovers = 0, law.RecoversByItself
	assert.Zero(t, assertions.Recovery(p, all), "the policy does not say what a lost throttle takes: it may be more")
	assert.False(t, asked())
}

// What a policy leaves out of a recovery, a board may need a power cycle for.
// What else is lost at once may have the board do more than what is said of one loss.
func TestTwoLossesAtOnce(t *testing.T) {
	both := []assertions.Step{base(), before(), under(stretch(titled("lost", held(1, 0.5)), 0, 600*ms), lost("yaw_serial"), lost("steer"))}
	idle := func(p *law.Policy) *law.Policy { p.YawLost = &law.Loss{Then: law.LossIdle, Within: 100 * ms}; return p }
	none := func(p *law.Policy) *law.Policy { p.YawLost = nil; return p }
	for _, tt := range []struct {
		name   string
		policy *law.Policy
		of     string
		want   assertions.Verdict
	}{
		{"no shift for either", lossPolicy(), "steer_lost", assertions.Pass},
		{"the other stops the motors", idle(lossPolicy()), "steer_lost", assertions.NotAsked},
		{"nothing is said of the other", none(lossPolicy()), "steer_lost", assertions.NotAsked},
	} {
		t.Run(tt.name, func(t *testing.T) {
			assert.Equal(t, tt.want, assertions.Worst(judge(tt.of, "lost", tt.policy, nil, both...)))
		})
	}
	p := lossPolicy()
	p.YawLost.Recovers, p.SteerLost.Recovers = law.RecoversByItself, law.RecoversAtPowerCycle
	assert.Equal(t, law.RecoversAtPowerCycle, assertions.Recovery(p, both[2].Faults), "what takes most")
	assert.True(t, assertions.MayStaySafe(p, both[2].Faults))
	p.SteerLost.Recovers = law.RecoversAtThrottleIdle
	assert.Equal(t, law.RecoversAtThrottleIdle, assertions.Recovery(p, both[2].Faults))
	assert.False(t, assertions.MayStaySafe(p, both[2].Faults))
}

func TestABoardMayStaySafeWhereThePolicyDoesNotSay(t *testing.T) {
	yaw := []stimulus.Fault{{Kind: stimulus.Lost, Wire: "yaw_serial"}}
	spike := []stimulus.Fault{{Kind: stimulus.Spike, Wire: "yaw_serial"}}
	idle, ignored := &law.Loss{Then: law.LossIdle}, &law.Loss{Then: law.LossIgnored}
	for _, tt := range []struct {
		name     string
		recovers law.Recovers
		lost     *law.Loss
		faults   []stimulus.Fault
		want     bool
	}{
		{"nothing is lost", 0, idle, nil, false},
		{"by itself", law.RecoversByItself, idle, yaw, false},
		{"a power cycle", law.RecoversAtPowerCycle, idle, yaw, true},
		{"idle, and not said", 0, idle, yaw, true},
		{"ignored", 0, ignored, yaw, false},
		{"a loss that is not spoken of", 0, nil, yaw, true},
		{"one that is not spoken of, by itself", law.RecoversByItself, nil, yaw, false},
		{"no loss, and not said", 0, idle, spike, true},
	} {
		t.Run(tt.name, func(t *testing.T) {
			p := law.Policy{Recovers: tt.recovers, YawLost: tt.lost}
			assert.Equal(t, tt.want, assertions.MayStaySafe(&p, tt.faults))
		})
	}
}

// A board that keeps the last yaw rate while frames are wrong still goes by its wheels, whose speeds go with the yaw rate
// that is played: its shift may be the larger for it, and no more than that.
func TestAKeptYawRateWhileTheWheelsGoOn(t *testing.T) {
	judged := func(wheels bool, times float64) assertions.Verdict {
		p := lossPolicy()
		p.ShiftAt.Grows, p.ShiftAt.Most, p.Demand.SpeedFrom, p.YawLost = law.GrowthSaturating, 0.2, law.SpeedFromFastest, nil
		tp := tape{firmware: newFirmware(p, func(f *firmware) {
			var none [4]float64
			f.last = func(in *seen, m *[4]float64) {
				if in.now < 1500*ms {
					none = *m
				}
				for i := range m {
					if in.now >= 2*signal.Second {
						m[i] = none[i] + (m[i]-none[i])*times
					}
				}
			}
		}), ramps: ramps}
		e := tp.play(faultCases["bad_checksum"]...)
		if wheels {
			e.Car = &plant.Car{FrontAxle: 0.14, RearAxle: 0.19, FrontTrack: 0.5, RearTrack: 0.5, WheelRadius: 0.05}
		}
		return assertions.Judge(assertions.PolicyBranch{Of: "bad_checksum", Step: "wrong"}, e)[0].Verdict
	}
	assert.Equal(t, assertions.Pass, judged(true, 1))
	assert.Equal(t, assertions.Pass, judged(true, 1.3))
	assert.Equal(t, assertions.Fail, judged(false, 1.3))
	assert.Equal(t, assertions.Fail, judged(true, 4))
}

// Shares that go with the speed, which the wheels tell otherwise while the yaw rate is kept, move what one motor of a pair is
// raised by to the other.
func TestSharesGoOnWithTheWheelsWhileAYawRateIsKept(t *testing.T) {
	judged := func(varies bool, yaw float64) assertions.Verdict {
		p := lossPolicy()
		p.ShiftAt.Grows, p.ShiftAt.Most, p.YawLost = law.GrowthSaturating, 0.2, &law.Loss{Then: law.LossIgnored}
		p.Understeer = &law.Split{Raise: []law.Corner{law.OutsideFront, law.OutsideRear}, Lower: []law.Corner{law.InsideFront, law.InsideRear}, Varies: varies}
		return assertions.Judge(assertions.PolicyBranch{Of: "bad_checksum", Step: "wrong"}, played(p, func(f *firmware) {
			f.believesChecksum = yaw > 1
			f.last = func(in *seen, m *[4]float64) {
				if in.step.Name == "wrong" {
					m[plant.FrontRight], m[plant.RearRight] = m[plant.FrontRight]-0.02*yaw, m[plant.RearRight]+0.02*yaw
				}
			}
		}, faultCases["bad_checksum"]...))[0].Verdict
	}
	assert.Equal(t, assertions.Pass, judged(true, 1))
	assert.Equal(t, assertions.Fail, judged(false, 1))
	assert.Equal(t, assertions.Fail, judged(true, 2), "it believes the wrong value")
}

// A shift that gathers may have taken a motor down to its lowest command before the frames went wrong, where its commands
// cannot go past any limit.
func TestAMotorAtAnEndOfItsRangeIsNotPastIt(t *testing.T) {
	judged := func(wrong float64) assertions.Verdict {
		p := lossPolicy()
		p.ShiftAt.Grows, p.ShiftAt.Most, p.YawLost = law.GrowthIntegrating, 0.6, &law.Loss{Then: law.LossIgnored}
		return assertions.Judge(assertions.PolicyBranch{Of: "bad_checksum", Step: "wrong"}, played(p, func(f *firmware) {
			f.last = func(in *seen, m *[4]float64) {
				switch in.step.Name {
				case "before":
					m[plant.FrontLeft] = 0
				case "wrong":
					m[plant.FrontLeft] = wrong
				}
			}
		}, faultCases["bad_checksum"]...))[0].Verdict
	}
	assert.Equal(t, assertions.Pass, judged(0))
	assert.Equal(t, assertions.Fail, judged(0.9))
}
