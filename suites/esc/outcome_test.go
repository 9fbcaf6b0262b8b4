package esc_test

import (
	"slices"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"hilrig/assertions"
	"hilrig/assertions/characteristic"
	"hilrig/assertions/measure"
	"hilrig/rig/benchtest/drawn"
	"hilrig/rig/signal"
	"hilrig/rig/stand"
	"hilrig/suites/esc"
	"hilrig/suites/file"
	"hilrig/suites/language"
	"hilrig/suites/record"
	"hilrig/suites/report"
)

// goes runs the demo stand with its even controller for so many seeds.
func goes(t *testing.T, seeds uint64) {
	for seed := uint64(1); seed <= seeds; seed++ {
		_, out := demoStand(t, "", seed)
		if !assert.Equal(t, record.Go, out.Result.Outcome, "seed %d", seed) {
			for _, c := range out.Result.Suites[0].Cases {
				for _, k := range c.Checks {
					if k.Verdict == record.Fail || k.Verdict == record.Undecided {
						t.Logf("%s %s: %s %s, %v to %v", c.Variant, k.Name, k.Verdict, k.Why, *k.Low, *k.High)
					}
				}
			}
		}
		assert.True(t, out.AtRest)
		assert.Empty(t, out.Events)
	}
}

// Each controller is told by its own figure; others lists what else is no pass. Keys without a limit in the
// demo's file are not among them.
func TestEachControllerIsRecognisedByItsOwnFigure(t *testing.T) {
	for i, test := range []struct {
		esc, own string
		others   []string
	}{
		{esc: "sharpened", own: characteristic.KeyFirstTenth},
		{esc: "wide_dead_band", own: characteristic.KeyDeadBand, others: []string{characteristic.KeyStartThreshold}}, // it does not follow back to idle either
		{esc: "hysteresis", own: characteristic.KeyHysteresis},
		{esc: "saturating", own: characteristic.KeySaturation, others: []string{characteristic.KeyIndependent, characteristic.KeyFirstTenth}},
		{esc: "coarse", own: characteristic.KeyResolution, others: []string{characteristic.KeyDeadBand, characteristic.KeyFirstTenth}},
		{esc: "drifting", own: characteristic.KeyDrift, others: []string{characteristic.KeyRepeatability, characteristic.KeyHysteresis, characteristic.KeyFirstTenth}},
		{esc: "jumping", own: characteristic.KeyMonotone, others: []string{characteristic.KeyIndependent}},
	} {
		if !drawn.Row(i, 3) && !testing.Short() {
			continue
		}
		t.Run(test.esc, func(t *testing.T) {
			if testing.Short() && test.esc != "sharpened" {
				t.Skip("one is enough under the race detector")
			}
			_, out := demoStand(t, test.esc, 1)
			assert.NotEqual(t, record.Go, out.Result.Outcome)
			var bad []string
			for _, f := range out.Figures[0] {
				if f.Asked() && f.Verdict != assertions.Pass {
					bad = append(bad, f.Key)
				}
			}
			if test.own == characteristic.KeySaturation { // which has no limit of its own
				f := figure(out, 0, test.own)
				assert.LessOrEqual(t, f.Low, 0.8)
				assert.Less(t, f.High, 0.95)
			} else {
				assert.Contains(t, bad, test.own)
				assert.Equal(t, assertions.Fail, figure(out, 0, test.own).Verdict)
			}
			switch first := report.UnmetFigures(out.Result)[0]; {
			case test.own == characteristic.KeySaturation:
				assert.Regexp(t, `the output rises no more above (79|80)(\.\d+)? %`, first.Why)
			case first.Verdict == record.Fail:
				assert.Equal(t, test.own, first.Check.Name, "it is named first")
			}
			for _, key := range bad {
				assert.True(t, key == test.own || slices.Contains(test.others, key), "%s is no pass either", key)
			}
		})
	}
}

// A controller that weakens with heat is told by its drift, significantly, as measured and at constant voltage: the
// first point is read while it is cold.
func TestDriftWithHeatIsDecided(t *testing.T) {
	long(t)
	out := run(t, &esc.Setup{Stand: standFile(t), ESC: "drifting", Seed: 2})
	for set := range out.Figures {
		f := figure(out, set, characteristic.KeyDrift)
		assert.Equal(t, assertions.Fail, f.Verdict)
		assert.Less(t, f.High, -0.03)
		assert.InDelta(t, 1, f.At, 1e-9, "at full")
		assert.Len(t, out.Sets[set].First, 3)
		assert.Len(t, out.Sets[set].Repeated, 3)
		assert.Less(t, out.Sets[set].First[2].At, out.Sets[set].Readings[1].At, "before all others")
	}
}

// One that turns the motor at idle is named by that, within seconds: nothing of it answers a command.
func TestAShaftThatTurnsAtIdleEndsTheRun(t *testing.T) {
	var w wires
	out := run(t, &esc.Setup{Stand: standFile(t), ESC: "reversing_at_idle", Seed: 1, Real: on(&w, nil)})
	assert.Equal(t, record.NotShown, out.Result.Outcome)
	assert.Regexp(t, `^the shaft turns at idle, backwards at [23]\d\.?\d* rad/s, and does not come to rest`, out.Result.Why)
	assert.Equal(t, []string{"encoder"}, places(out))
	assert.Less(t, out.Driving, 15*signal.Second)
	assert.False(t, out.AtRest)
	assert.Equal(t, record.Undecided, verdicts(out)[characteristic.KeyStartThreshold])
	w.endsAtIdle(t)
}

// A controller whose telemetry fails leaves nothing by which its bounds are watched.
func TestAControllerThatDropsTelemetryEndsTheRun(t *testing.T) {
	out, err := (&esc.Setup{Stand: standFile(t), ESC: "dropping_telemetry", Seed: 1}).Run(t.Context(), esc.Options{})
	var tripped *esc.Tripped
	require.ErrorAs(t, err, &tripped)
	assert.Equal(t, "telemetry", tripped.Bound)
	assert.Equal(t, record.NotShown, out.Result.Outcome)
	assert.Contains(t, places(out), "telemetry")
}

// truthOf returns the true outputs of a controller at the levels, the average of both directions, at constant voltage or not.
func truthOf(t *testing.T, s *esc.Setup, levels []float64, speed float64, constant bool) []float64 {
	name := s.ESC
	if name == "" {
		name = "linear"
	}
	controller, ok := stand.ESCNamed(name)
	require.True(t, ok)
	st, err := stand.New(s.StandSettings(&s.Stand.Held[0]), controller)
	require.NoError(t, err)
	truth := st.Truth()
	torque := truth.Torque
	if constant {
		torque = truth.ConstantTorque
	}
	var y []float64
	for _, x := range levels {
		y = append(y, (torque(x, speed, stand.Up)+torque(x, speed, stand.Down))/2)
	}
	return y
}

// over returns the levels that the figures are over: those read in both directions.
func over(set *characteristic.Set) (levels []float64) {
	for i, x := range set.Levels {
		if slices.ContainsFunc(set.Readings, func(r characteristic.Reading) bool { return r.Level == i && r.Status == characteristic.Read }) {
			levels = append(levels, x)
		}
	}
	return levels
}

// within counts in how many of so many seeds the true linearity of the stand in closed form lies in its interval.
func within(t *testing.T, seeds uint64, constant bool) (held int, widest float64) {
	set := 0
	if constant {
		set = 1
	}
	for seed := uint64(1); seed <= seeds; seed++ {
		s, out := demoStand(t, "", seed)
		x := over(out.Sets[set])
		y := truthOf(t, s, x, 60, constant)
		line, ok := measure.IndependentLine(x, y)
		require.True(t, ok)
		most := 0.0
		for i := range x {
			most = max(most, y[i]-line.Y(x[i]), line.Y(x[i])-y[i])
		}
		r := measure.RangeOf(y...)
		true_ := most / r.Width()
		f := figure(out, set, characteristic.KeyIndependent)
		if f.Low <= true_ && true_ <= f.High {
			held++
		} else {
			t.Logf("seed %d: %.5f is not in %.5f to %.5f", seed, true_, f.Low, f.High)
		}
		assert.InDelta(t, true_, f.Estimate, 0.003, "seed %d: within 0.3 %% of span", seed)
		widest = max(widest, f.High-f.Low)
	}
	return held, widest
}

func TestFullTorqueHoldsTheTruth(t *testing.T) {
	long(t)
	s, out := demoStand(t, "", 3)
	f := figure(out, 0, characteristic.KeyFullOutput)
	y := truthOf(t, s, []float64{1}, 60, false)
	assert.True(t, f.Low <= y[0] && y[0] <= f.High, "%v is not in %v to %v", y[0], f.Low, f.High)
	scale := s.Stand.SpinUp.Inertia.Value / s.StandSettings(&s.Stand.Held[0]).Load.Inertia
	assert.InEpsilon(t, scale*y[0], f.Estimate, 0.005, "but for the inertia, which is declared")
	drag := out.Sets[0].Drag
	require.NotNil(t, drag)
	st, err := stand.New(s.StandSettings(&s.Stand.Held[0]), stand.ESC{})
	require.NoError(t, err)
	assert.InEpsilon(t, st.Truth().Drag(60), drag.Value, 0.025, "but for the inertia's tolerance of 2 %")
	step := out.Sets[0].Steps[0]
	assert.InDelta(t, 0.002*2.197, step.Rise, 0.0015, "10 %% to 90 %% of a lag of 2 ms")
	assert.Less(t, step.Delay, 0.002)
}

func TestTheTableStraightensTheSharpenedController(t *testing.T) {
	long(t)
	_, out := demoStand(t, "sharpened", 1)
	require.NotNil(t, out.Tables[0], out.NotInvertible[0])
	assert.Greater(t, figure(out, 0, characteristic.KeyIndependent).Low, 0.01)
	assert.Less(t, out.Tables[0].Residual.High, 0.01, "independent linearity with the table is below 1 %%")
}

func TestTheSameSeedGivesTheSameRecord(t *testing.T) {
	long(t)
	digest := func(seed uint64) string {
		return run(t, &esc.Setup{Stand: standFile(t, "plan: {margin: 20 %}", quick), Seed: seed}).Result.Digest
	}
	one := digest(7)
	assert.Equal(t, one, digest(7))
	assert.NotEqual(t, one, digest(8))
}

func TestWithoutLimitsItIsMeasured(t *testing.T) {
	s := standFile(t, "plan: {margin: 20 %}", quick)
	s.Limits = characteristic.Limits{}
	out := run(t, &esc.Setup{Stand: s, Seed: 1})
	assert.Equal(t, record.Measured, out.Result.Outcome)
}

func TestWithoutInertiaSharesAreJudgedAllTheSame(t *testing.T) {
	long(t)
	s := standFile(t, "    inertia: {value: 5000 g cm2, tolerance: 2 %}\n", "")
	out := run(t, &esc.Setup{Stand: s, Seed: 1})
	assert.Equal(t, record.Go, out.Result.Outcome)
	assert.Equal(t, "rad/s2", out.Sets[0].Unit)
	assert.False(t, figure(out, 0, characteristic.KeyFullOutput).Measured())
}

// A controller that brakes at idle leaves drag unknown, and what needs it undecided; independent and terminal-based
// linearity do not.
func TestABrakingControllerLeavesDragUnknown(t *testing.T) {
	long(t)
	out := run(t, &esc.Setup{Stand: standFile(t, "coast: freewheels", "coast: brakes"), Seed: 1})
	v := verdicts(out)
	assert.Equal(t, record.Pass, v[characteristic.KeyIndependent])
	assert.Equal(t, record.Undecided, v[characteristic.KeyStartThreshold])
	assert.Equal(t, record.Undecided, v[characteristic.KeyZeroBased])
	assert.Nil(t, out.Sets[0].Drag)
	assert.Equal(t, record.NotShown, out.Result.Outcome)
}

func TestAnUnpluggedMotorCoastsByHand(t *testing.T) {
	long(t)
	s := &esc.Setup{Stand: standFile(t, "coast: freewheels", "coast: unplugged", "plan: {margin: 20 %}", quick), Seed: 1}
	asked := 0
	out, err := s.Run(t.Context(), esc.Options{Progress: func(p esc.Progress) {
		if strings.HasPrefix(p.What, "unplug") {
			asked++
			assert.Zero(t, p.Command)
		}
	}})
	require.NoError(t, err)
	assert.Positive(t, asked)
	require.NotNil(t, out.Sets[0].Drag, out.Sets[0].DragWhy)
	st, err := stand.New(s.StandSettings(&s.Stand.Held[0]), stand.ESC{})
	require.NoError(t, err)
	assert.InEpsilon(t, st.Truth().Drag(60), out.Sets[0].Drag.Value, 0.03)
}

func TestDrawnOrderAndTwoSpeeds(t *testing.T) {
	long(t)
	s := standFile(t, "plan: {margin: 20 %}", "plan: {margin: 20 %, order: drawn, count: 11, fine_at: 60 %, fine_steps: 5 %}", "at: 60 rad/s", "at: [60 rad/s, 100 rad/s]")
	out := run(t, &esc.Setup{Stand: s, Seed: 1})
	require.Len(t, out.Sets, 4, "each speed as measured and at constant voltage")
	assert.Equal(t, "speed 60 rad/s", out.Sets[0].Held)
	assert.Equal(t, "speed 60 rad/s, at constant voltage", out.Sets[1].Held)
	assert.Equal(t, "speed 100 rad/s", out.Sets[2].Held)
	assert.NotEqual(t, record.Fail, verdicts(out)[characteristic.KeyIndependent])
	assert.Greater(t, len(over(out.Sets[0])), len(over(out.Sets[2]))-1, "the higher speed is reached by fewer levels")
}

func TestDShotAndATacho(t *testing.T) {
	long(t)
	s := standFile(t, "kind: servo_pulse\n  idle: 1000 us\n  full: 2000 us\n  rate: 400 Hz", "kind: dshot300\n  rate: 1 kHz",
		"{kind: quadrature, lines: 256, line_error: 0.02 deg}", "{kind: tacho, pulses: 256, line_error: 0.02 deg}")
	out := run(t, &esc.Setup{Stand: s, Seed: 1})
	assert.Equal(t, record.Go, out.Result.Outcome)
}

// What is fit for a real stand alone is an error that names the file; so is no low voltage, by which the motor never turns.
func TestWhatCannotBeSimulatedNamesTheFile(t *testing.T) {
	const inertia = "inertia: {value: 5000 g cm2, tolerance: 2 %}"
	_, err := (&esc.Setup{Stand: standFile(t, inertia, "inertia: {value: 0.01 g cm2, tolerance: 2 %}"), Seed: 1}).Run(t.Context(), esc.Options{})
	require.ErrorContains(t, err, "stand.yaml: what the file declares cannot be simulated: stand settings: Load.Inertia is")
	out := run(t, &esc.Setup{Stand: standFile(t, "voltage: 7.4 V", "voltage: 0.5 V", "  lowest_voltage: 6 V\n", "", "plan: {margin: 20 %}", quick), Seed: 1})
	assert.Equal(t, record.NotShown, out.Result.Outcome)
}

// Where a file is judged nothing was played, and no figure says otherwise.
func TestOfAFileNoSmallChangesWerePlayed(t *testing.T) {
	rows := "throttle [%],torque [N m]\n" + strings.Repeat("0,0\n50,.5\n100,1\n50,.5\n", 3)
	s, err := file.ParseStand(language.Source{Path: "s.yaml", Data: []byte("stand: s\nmeasure: {file: {path: a.csv, command: {column: throttle}, torque: {column: torque}}}\nheld: [{kind: locked, level_limit: 1 s, starts_locked: yes}]\n")}, func(string) ([]byte, error) { return []byte(rows), nil })
	require.NoError(t, err)
	out := run(t, &esc.Setup{Stand: s, Seed: 1})
	assert.NotContains(t, figure(out, 0, characteristic.KeyDeadBand).Why, "fine_at")
}
