package esc_test

import (
	"fmt"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"hilrig/assertions/characteristic"
	"hilrig/rig/signal"
	"hilrig/rig/stand"
	"hilrig/suites/esc"
	"hilrig/suites/file"
	"hilrig/suites/language"
	"hilrig/suites/record"
)

// staircase is a stand without a free shaft; measure, held and more of it are put in.
const staircase = `stand: brake
throttle:
  kind: servo_pulse
  idle: 1000 us
  full: 2000 us
  rate: 400 Hz
measure:
  MEASURE
supply: {voltage: 7.4 V}
held:
  - HELD
plan:
  count: 11
  dwell: 300 ms
  window: 200 ms
  fine_at: 60 %
  fine_steps: 2 %
limits:
  linearity: {sense: independent, at_most: 3 %}
  hysteresis: 3 %
`

const (
	loadCell  = "load_cell: {clocks: 25, rate: 80 Hz, zero: 21500, span: [{counts: 119566, mass: 100 g}, {counts: 511833, mass: 500 g}], arm: {value: 100 mm, tolerance: 0.2 mm}}"
	locked    = "{kind: locked, level_limit: 2 s, starts_locked: yes}"
	atSpeed   = "{kind: speed, at: 100 rad/s, by: brake}"
	phase     = "telemetry: {pole_pairs: 7, current: phase, torque_constant: {value: 0.0123 N m/A, tolerance: 2 %}}"
	bySupply  = "telemetry: {pole_pairs: 7, current: supply, torque_constant: {value: 0.0123 N m/A, tolerance: 1 %}, winding_resistance: {value: 250 mohm, tolerance: 1 %}}"
	onTheBus  = "telemetry: {pole_pairs: 7}\n  bus_sensor:\n    - {device: /dev/i2c-1, address: 64, quantity: current, register: 4, signed: yes, scale: 1 mA, current: supply, torque_constant: {value: 0.0123 N m/A, tolerance: 1 %}, winding_resistance: {value: 250 mohm, tolerance: 1 %}}\n    - {device: /dev/i2c-1, address: 64, quantity: voltage, register: 2, scale: 1.25 mV, order: little, width: 3, shift: 3, offset: 1 mV}"
	unplugged = "load_cell"
)

func brake(t *testing.T, measure, held string, more ...string) *file.Stand {
	t.Helper()
	return parsed(t, edited(t, edited(t, staircase, "MEASURE", measure, "HELD", held), more...))
}

// Locked, an even controller gives torque in proportion to its throttle (common practice, no source): the
// load cell finds what the stand gives in closed form.
func TestALoadCellReadsALockedShaft(t *testing.T) {
	s := &esc.Setup{Stand: brake(t, loadCell, locked), Seed: 1}
	out := run(t, s)
	assert.Equal(t, record.Go, out.Result.Outcome, "%v %+v", out.Result.Why, out.Events)
	st, err := stand.New(s.StandSettings(&s.Stand.Held[0]), stand.ESC{})
	require.NoError(t, err)
	half := 0.0
	for _, r := range out.Sets[0].Readings {
		require.Equal(t, characteristic.Read, r.Status, r.Why)
		if x := out.Sets[0].Levels[r.Level]; x > 0.05 {
			want := st.Truth().Torque(x, 0, stand.Up) - st.Truth().Drag(1)
			assert.InDelta(t, want, r.Output, 0.006, "%v", x)
			if x == 0.5 {
				half = r.Output
			}
		}
	}
	f := figure(out, 0, characteristic.KeyFullOutput)
	assert.InDelta(t, 0.5, half/f.Estimate, 0.01, "half throttle is half torque")
	assert.True(t, f.Measured())
}

func TestALoadCellAtABrakedSpeed(t *testing.T) {
	s := &esc.Setup{Stand: brake(t, loadCell+"\n  telemetry: {pole_pairs: 7}", atSpeed), Seed: 1}
	out := run(t, s)
	assert.Equal(t, record.Go, out.Result.Outcome, "%v %+v", out.Result.Why, out.Events)
	reached := map[characteristic.Status]int{}
	for _, r := range out.Sets[0].Readings {
		reached[r.Status]++
	}
	assert.Positive(t, reached[characteristic.NotReached], "low levels do not reach the speed")
}

func TestAPhaseCurrentGivesTorque(t *testing.T) {
	out := run(t, &esc.Setup{Stand: brake(t, phase, locked), Seed: 1})
	assert.Equal(t, record.Go, out.Result.Outcome, "%v %+v", out.Result.Why, out.Events)
	assert.Equal(t, "N m", out.Sets[0].Unit)
	assert.Positive(t, out.Sets[0].Scale)
}

// By power, from the supply's current: within what torque constant and resistance leave open.
func TestASupplyCurrentGivesTorqueByPower(t *testing.T) {
	for by, measure := range map[string]string{"telemetry": bySupply, "bus_sensor": onTheBus} {
		t.Run(by, func(t *testing.T) {
			s := &esc.Setup{Stand: brake(t, measure, atSpeed, "supply: {voltage: 7.4 V}", "supply: {voltage: 7.4 V, measured_by: "+by+"}"), Seed: 1}
			out := run(t, s)
			assert.Empty(t, out.Events)
			st, err := stand.New(s.StandSettings(&s.Stand.Held[0]), stand.ESC{})
			require.NoError(t, err)
			n := 0
			for _, r := range out.Sets[0].Readings {
				if x := out.Sets[0].Levels[r.Level]; r.Status == characteristic.Read && x >= 0.4 {
					n++
					assert.InEpsilon(t, st.Truth().Torque(x, 100, stand.Up), r.Output, 0.04, "%v", x)
				}
			}
			assert.Greater(t, n, 20)
		})
	}
}

// A cell that is unplugged in the middle leaves undecided what it was to measure, and says so.
func TestAnUnpluggedLoadCellIsAnEvent(t *testing.T) {
	s := brake(t, loadCell, locked)
	var w wires
	out := run(t, &esc.Setup{Stand: s, Seed: 1, Real: on(&w, without(s, 5*signal.Second, signal.CellData))})
	assert.Equal(t, record.NotShown, out.Result.Outcome)
	assert.Contains(t, places(out), unplugged)
	assert.Equal(t, record.Undecided, verdicts(out)[characteristic.KeyIndependent])
}

// No level of a locked shaft is sent for longer than its limit, be the dwell as long as that; one that lasts
// longer ends the run.
func TestALockedShaftsLevelsEndByTheirLimit(t *testing.T) {
	const limit = 300 * signal.Millisecond
	s := brake(t, loadCell, "{kind: locked, level_limit: 300 ms, starts_locked: yes}", "fine_at: 60 %\n  fine_steps: 2 %", "fine_at: 60 %\n  fine_steps: 10 %")
	var w wires
	run(t, &esc.Setup{Stand: s, Seed: 1, Real: on(&w, nil)})
	longest, since, width := signal.Time(0), signal.Time(0), signal.Time(0)
	for i := 0; i+1 < len(w.driven); i += 2 {
		rise, one := w.driven[i].At, w.driven[i+1].At-w.driven[i].At
		require.True(t, w.driven[i].Level)
		if one != width {
			since, width = rise, one
		}
		if one > signal.Millisecond {
			longest = max(longest, rise-since)
		}
	}
	assert.LessOrEqual(t, longest, limit)
	assert.Greater(t, longest, limit-10*signal.Millisecond)

	w = wires{}
	s.Held[0].LevelLimit = 200 * signal.Millisecond
	_, err := (&esc.Setup{Stand: s, Seed: 1, Real: on(&w, nil)}).Run(t.Context(), esc.Options{})
	var tripped *esc.Tripped
	require.ErrorAs(t, err, &tripped)
	assert.Equal(t, "level", tripped.Bound)
	assert.Contains(t, tripped.Why, "longer than level_limit of the locked shaft, 200 ms")
	w.endsAtIdle(t)
}

// A step is timed by what the source's rate allows: the interval holds the stand's own answer, a lag of 2 ms after less
// than 3 ms, and half a reading's period is in it.
func TestAStaircaseTimesSteps(t *testing.T) {
	for _, one := range []struct {
		name, measure, held string
		most                float64 // s, of the interval of the delay
	}{
		{"load cell", loadCell, locked, 0.017},
		{"phase current", phase, locked, 0.02},
		{"on the bus", onTheBus, atSpeed, 0.012},
		{"fast on the bus", strings.Replace(onTheBus, "register: 4,", "register: 4, rate: 1 kHz,", 1), atSpeed, 0.0035},
	} {
		t.Run(one.name, func(t *testing.T) {
			s := &esc.Setup{Stand: brake(t, one.measure, one.held), Seed: 1}
			out := run(t, s)
			require.Len(t, out.Sets[0].Steps, 3)
			every := 0.0
			for _, step := range out.Sets[0].Steps {
				every = max(every, step.Every)
			}
			require.Positive(t, every)
			delay, rise := figure(out, 0, characteristic.KeyDelay), figure(out, 0, characteristic.KeyRiseTime)
			assert.True(t, delay.Measured() && rise.Measured(), delay.Why+rise.Why)
			assert.LessOrEqual(t, delay.Low, 0.003)
			assert.LessOrEqual(t, delay.Estimate, delay.High-every/2)
			assert.Less(t, delay.High, one.most)
			lag := 2.197 * 0.002
			assert.True(t, rise.Low <= lag && lag <= rise.High, "%v is not in %v to %v", lag, rise.Low, rise.High)
			t.Logf("every %.3g s: delay %.4f to %.4f, rise %.4f to %.4f", every, delay.Low, delay.High, rise.Low, rise.High)
		})
	}
}

// A step that begins below the held speed says nothing of the controller.
func TestAStepBelowTheBrakedSpeedIsNotTimed(t *testing.T) {
	s := &esc.Setup{Stand: brake(t, loadCell+"\n  telemetry: {pole_pairs: 7}", atSpeed, "fine_at: 60 %", "step: [10 %, 60 %]\n  first_again: no\n  fine_at: 60 %"), Seed: 1}
	out := run(t, s)
	assert.False(t, figure(out, 0, characteristic.KeyDelay).Measured())
	require.NotEmpty(t, out.Events)
	assert.Contains(t, out.Events[0].Text, "does not reach the speed that the brake holds")
}

// The published calibration set of a sensor, up and down (READ: alexlib metrology notes), here as a dynamometer's
// file.
func TestADynamometersFileIsJudged(t *testing.T) {
	var csv strings.Builder
	csv.WriteString("command [%],torque [N m],direction\n")
	up, down := []string{"0.1", "1.1", "2.1", "3.0", "4.1", "5.0"}, []string{"0.1", "1.2", "2.2", "3.2", "4.2", "5.0"}
	for range 3 {
		for i, y := range up {
			fmt.Fprintf(&csv, "%d,%s,up\n", 20*i, y)
		}
		for i := range down {
			fmt.Fprintf(&csv, "%d,%s,down\n", 100-20*i, down[5-i])
		}
	}
	text := "stand: elsewhere\nmeasure:\n  file: {path: torque.csv, command: {column: command}, torque: {column: torque}, direction: {column: direction}}\nheld:\n  - " + locked + "\n"
	s, err := file.ParseStand(language.Source{Path: "stand.yaml", Data: []byte(text)}, func(string) ([]byte, error) { return []byte(csv.String()), nil })
	require.NoError(t, err)
	played := 0
	out, err := (&esc.Setup{Stand: s, Seed: 1}).Run(t.Context(), esc.Options{Progress: func(esc.Progress) { played++ }})
	require.NoError(t, err)
	assert.Zero(t, played)
	assert.Len(t, out.Sets[0].Readings, 36)
	assert.Equal(t, "torque.csv", out.Result.Board.Name)
	// Six levels are fewer than a line is judged over.
	assert.False(t, figure(out, 0, characteristic.KeyIndependent).Measured())
	assert.NotEqual(t, record.Go, out.Result.Outcome)
}

// What a supply at its limit does is not laid to the controller.
func TestASupplyAtItsLimitIsAnEvent(t *testing.T) {
	out := run(t, &esc.Setup{Stand: brake(t, bySupply, atSpeed, "supply: {voltage: 7.4 V}", "supply: {voltage: 7.4 V, measured_by: telemetry, current_limit: 10 A}"), Seed: 1})
	assert.Contains(t, places(out), "supply")
	assert.Equal(t, record.NotShown, out.Result.Outcome, "%v", verdicts(out))
	out = run(t, &esc.Setup{Stand: standFile(t, "measured_by: telemetry", "measured_by: telemetry\n  current_limit: 12 A", "  lowest_voltage: 6 V\n", "", "plan: {margin: 20 %}", quick), Seed: 1})
	assert.Contains(t, places(out), "supply")
	assert.Equal(t, record.NotShown, out.Result.Outcome, "%v", verdicts(out))
	out = run(t, &esc.Setup{Stand: brake(t, bySupply, atSpeed, "supply: {voltage: 7.4 V}", "supply: {voltage: 7.4 V, measured_by: telemetry, current_limit: 60 A}"), Seed: 1})
	assert.NotContains(t, places(out), "supply")
}

// A cell that is overloaded reads the end of its range: nothing of that is a reading.
func TestASaturatedLoadCellIsAnEvent(t *testing.T) {
	weak := strings.NewReplacer("119566", "1511833", "511833", "7911833", "100 g,", "50 g,", "mass: 100 g", "mass: 50 g", "mass: 500 g", "mass: 250 g").Replace(loadCell)
	out := run(t, &esc.Setup{Stand: brake(t, weak, locked), Seed: 1})
	require.NotEmpty(t, out.Events)
	assert.Contains(t, out.Events[0].Text, "end of its range")
	dropped := 0
	for _, r := range out.Sets[0].Readings {
		if r.Status == characteristic.Dropped {
			dropped++
		}
	}
	assert.Positive(t, dropped)
	assert.NotEqual(t, record.Go, out.Result.Outcome)
}

// What a file says of how its sources are wired and set is so on the simulated stand: an even controller stays
// even, the torque is ahead, and the first point that was read is read again.
func TestASimulatedStandIsWiredAsItsFileSays(t *testing.T) {
	onPhase := "bus_sensor: {device: /dev/i2c-1, address: 64, quantity: current, register: 4, signed: yes, scale: 1 mA, current: phase, torque_constant: {value: 0.0123 N m/A, tolerance: 2 %}}"
	for name, c := range map[string]struct {
		measure, held string
		more          []string
	}{
		"cell the other way round":       {strings.Replace(loadCell, "clocks: 25", "clocks: 25, reverse: yes", 1), locked, nil},
		"counts that fall":               {strings.NewReplacer("119566", "-76566", "511833", "-468833").Replace(loadCell), locked, nil},
		"27 clocks":                      {strings.Replace(loadCell, "clocks: 25", "clocks: 27", 1), locked, nil},
		"readouts late in a tick":        {strings.Replace(loadCell, "clocks: 25", "clocks: 27", 1), locked, []string{"  count: 11\n  dwell: 300 ms\n  window: 200 ms\n", "  rest: 1 s\n"}},
		"phase current on the bus":       {onPhase, locked, nil},
		"slow telemetry":                 {strings.Replace(phase, "pole_pairs", "baud: 9600 Bd, pole_pairs", 1), locked, nil},
		"a voltage on the bus is bound":  {onTheBus, atSpeed, []string{"limits:", "stop_at: {lowest_voltage: 5 V}\nlimits:\n  drift: 3 %", "{voltage: 7.4 V}", "{voltage: 7.4 V, measured_by: bus_sensor}"}},
		"drift where idle takes nothing": {loadCell + "\n  telemetry: {pole_pairs: 7}", atSpeed, []string{"limits:", "limits:\n  drift: 3 %"}},
	} {
		t.Run(name, func(t *testing.T) {
			out := run(t, &esc.Setup{Stand: brake(t, c.measure, c.held, c.more...), Seed: 1})
			assert.Equal(t, record.Go, out.Result.Outcome, "%v %+v %+v", out.Result.Why, out.Events, verdicts(out))
			assert.Positive(t, figure(out, 0, characteristic.KeyFullOutput).Estimate)
		})
	}
}
