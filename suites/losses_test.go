package suites

import (
	"context"
	"os"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"hilrig/rig/benchtest/drawn"
	"hilrig/rig/board"
	"hilrig/rig/signal"
	"hilrig/suites/demo"
	"hilrig/suites/language"
	"hilrig/suites/record"
	"hilrig/suites/standard"
)

// lossSchool is firmware that does after losses what its own policy says.
type lossSchool struct {
	name   string
	policy []string // lines that take the place of the demo's of the same keys, or come on top
	bus    bool     // the receiver's channels share a line
	board  func(s *board.Settings)
	cases  string // what the names of the cases that show it contain
	// wrong are boards of another kind, which these cases have to fail.
	wrong map[string]func(s *board.Settings)
}

const lossMS = signal.Millisecond

func ending(l board.Loss, then board.Then, recovers board.Recovery) func(s *board.Settings) {
	return func(s *board.Settings) { s.Endings[l] = board.Ending{Then: then, Recovers: recovers} }
}

func asTheDemo(*board.Settings) {}

func nobodyCounts(s *board.Settings) { s.SequenceTimeout = 0 }

// lossSchools have a sample of what a policy can say of losses, one each.
var lossSchools = []lossSchool{
	{"idle without yaw", []string{"yaw_lost: {idle_within: 100 ms, recovers: throttle_at_idle}"}, false, ending(board.YawLost, board.ThenIdle, board.AtThrottleAtIdle), "yaw-rate sensor lost",
		map[string]func(*board.Settings){"no shift alone": asTheDemo, "recovers by itself": ending(board.YawLost, board.ThenIdle, board.ByItself)}},
	{"the last yaw rate holds", []string{"yaw_lost: {ignored: yes}"}, false, ending(board.YawLost, board.ThenIgnored, ""), "yaw-rate sensor lost",
		map[string]func(*board.Settings){"gives the shift up": asTheDemo, "stops": ending(board.YawLost, board.ThenIdle, "")}},
	{"corrupt frames stop the motors", []string{"yaw_lost: {idle_within: 100 ms}"}, false, ending(board.YawLost, board.ThenIdle, ""), "wrong checksum",
		map[string]func(*board.Settings){"no shift alone": asTheDemo}},
	{"nothing is said of a lost yaw rate", []string{"yaw_lost:"}, false, ending(board.YawLost, board.ThenIdle, ""), "wrong checksum", nil},
	{"it may take its time", []string{"yaw_lost: {no_shift_within: 1500 ms}"}, false, func(s *board.Settings) { s.YawTimeout = 1400 * lossMS }, "yaw-rate sensor lost",
		map[string]func(*board.Settings){"longer yet": func(s *board.Settings) { s.YawTimeout = 1600 * lossMS }}},
	{"a frozen yaw rate is believed", []string{"yaw_frozen: {ignored: yes}"}, false, ending(board.YawFrozen, board.ThenIgnored, ""), "frozen", map[string]func(*board.Settings){"noticed": asTheDemo}},
	{"a counter that stands still", []string{"sequence_frozen: {no_shift_within: 150 ms}"}, false, func(s *board.Settings) { s.SequenceTimeout = 80 * lossMS }, "counter", map[string]func(*board.Settings){"nobody looks": nobodyCounts}},
	{"nobody looks at the counter", []string{"sequence_frozen: {ignored: yes}"}, false, nobodyCounts, "counter", map[string]func(*board.Settings){"looks": func(s *board.Settings) { s.SequenceTimeout = 80 * lossMS }}},
	{"the gain holds", []string{"gain_lost: {held: yes}"}, false, ending(board.GainLost, board.ThenIgnored, ""), "gain trim", map[string]func(*board.Settings){"no shift": asTheDemo}},
	{"no gain, no shift", []string{"gain_lost: {no_shift_within: 150 ms}"}, false, asTheDemo, "gain trim", map[string]func(*board.Settings){"held": ending(board.GainLost, board.ThenIgnored, "")}},
	{"no gain, half of it", []string{"gain_lost: {value: 50 %, within: 150 ms}"}, false, func(s *board.Settings) { s.Endings[board.GainLost].Then, s.GainValue = board.GainAtValue, 0.5 }, "gain trim",
		map[string]func(*board.Settings){"no shift": asTheDemo, "a quarter": func(s *board.Settings) { s.Endings[board.GainLost].Then, s.GainValue = board.GainAtValue, 0.25 }, "held": ending(board.GainLost, board.ThenIgnored, "")}},
	{"a wheel that is lost is left out", []string{"encoder_lost: {ignored: yes}", "speed: fastest"}, false, func(s *board.Settings) {
		s.SpeedFrom, s.Endings[board.EncoderLost].Then = board.SpeedFastest, board.ThenIgnored
	}, "encoder of the", map[string]func(*board.Settings){"it counts as standing": ending(board.EncoderLost, board.ThenIgnored, ""), "no shift": func(s *board.Settings) { s.SpeedFrom = board.SpeedFastest }}},
	{"the throttle from the receiver's loss, by itself from the others", []string{"receiver_lost: {idle_within: 150 ms, recovers: throttle_at_idle}", "throttle_lost: {idle_within: 150 ms}"}, false, func(s *board.Settings) {
		s.ReceiverTimeout, s.Endings[board.ReceiverLost].Recovers = 100*lossMS, board.AtThrottleAtIdle
	}, " lost", map[string]func(*board.Settings){"by itself": func(s *board.Settings) { s.ReceiverTimeout = 100 * lossMS }, "the throttle always": func(s *board.Settings) { s.Recovers = board.AtThrottleAtIdle }}},
	{"the receiver's loss is final", []string{"receiver_lost: {idle_within: 150 ms, recovers: power_cycle}"}, false, func(s *board.Settings) {
		s.ReceiverTimeout, s.Endings[board.ReceiverLost].Recovers = 100*lossMS, board.AtPowerCycle
	}, "receiver lost", map[string]func(*board.Settings){"not so": func(s *board.Settings) { s.ReceiverTimeout = 100 * lossMS }}},
	{"a bus that is lost", []string{"receiver_lost: {idle_within: 150 ms}"}, true, asTheDemo, " lost", map[string]func(*board.Settings){"held": ending(board.ThrottleLost, board.ThenNoShift, "")}},
	{"a bus out of reach", []string{"receiver_flag: {idle_within: 150 ms}"}, true, asTheDemo, "out of reach", map[string]func(*board.Settings){"the flag does not count": func(s *board.Settings) {
		s.FlagTimeout, s.Endings[board.ReceiverFlag].Then = 100*lossMS, board.ThenIgnored
	}}},
	{"a flag that does not count", []string{"receiver_flag: {ignored: yes}"}, true, func(s *board.Settings) {
		s.FlagTimeout, s.Endings[board.ReceiverFlag].Then = 100*lossMS, board.ThenIgnored
	}, "out of reach", map[string]func(*board.Settings){"it counts": asTheDemo}},
	{"at rest first", []string{"start_at_rest: 1 s"}, false, func(s *board.Settings) { s.AtRestFor = signal.Second }, "stay off",
		map[string]func(*board.Settings){"at once": asTheDemo, "half as long": func(s *board.Settings) { s.AtRestFor = signal.Second / 2 }}},
	{"silent until it has been at rest", []string{"start_at_rest: 1 s", "start: silent"}, false, func(s *board.Settings) { s.AtRestFor, s.StartState = signal.Second, board.Silent }, "stay off",
		map[string]func(*board.Settings){"idle": func(s *board.Settings) { s.AtRestFor = signal.Second }}},
	{"armed by the throttle", []string{"arms: throttle_at_idle"}, false, func(s *board.Settings) { s.ArmsAtIdle = true }, "stay off", map[string]func(*board.Settings){"at once": asTheDemo}},
	{"a shift with a memory", []string{"shift_at: {error: 60 deg/s, gain: 50 %, is: 8 %, within: 10 %, grows: integrating, most: 20 %}", "response:"}, false, func(s *board.Settings) {
		s.Grows, s.Most, s.GrowsIn = board.Integrating, 0.2, 600*lossMS
	}, lossCases, map[string]func(*board.Settings){"nothing comes back": func(s *board.Settings) { s.Recovers = board.AtPowerCycle }}},
	{"a memory of which no size is declared", []string{"shift_at:", "response:", "loop_rate:", "spike: {at_most: 8 %}"}, false, func(s *board.Settings) {
		s.Grows, s.Most, s.GrowsIn = board.Integrating, 0.2, 600*lossMS
	}, lossCases, map[string]func(*board.Settings){"nothing comes back": func(s *board.Settings) { s.Recovers = board.AtPowerCycle }}},
	{"the slowest wheel's speed, so that the baseline is shifted", []string{"speed: slowest"}, false, func(s *board.Settings) { s.SpeedFrom = board.SpeedSlowest }, "",
		map[string]func(*board.Settings){"goes on without yaw": func(s *board.Settings) {
			s.SpeedFrom, s.Endings[board.YawLost].Then = board.SpeedSlowest, board.ThenIgnored
		}}},
	{"the fastest wheel's speed, so that the baseline is shifted", []string{"speed: fastest"}, false, func(s *board.Settings) { s.SpeedFrom = board.SpeedFastest }, "",
		map[string]func(*board.Settings){"goes on without steering": func(s *board.Settings) {
			s.SpeedFrom, s.Endings[board.SteerLost].Then = board.SpeedFastest, board.ThenIgnored
		}}},
	{"commands through a filter", []string{"smoothing: {filter: 15 ms}", "response: {at_most: 27 ms, of: 95 %}"}, false, func(s *board.Settings) { s.Shaping.CommandLag = 15 * lossMS }, " lost",
		map[string]func(*board.Settings){"late besides": func(s *board.Settings) { s.Shaping.CommandLag, s.YawTimeout = 15*lossMS, 200*lossMS }}},
	{"commands that a limit slows", []string{"smoothing: {full_range_in: 300 ms}", "response: {at_most: 27 ms, of: 95 %}"}, false, func(s *board.Settings) { s.Shaping.Slew = 1 / 0.3 }, " lost",
		map[string]func(*board.Settings){"late besides": func(s *board.Settings) { s.Shaping.Slew, s.YawTimeout = 1/0.3, 200*lossMS }}},
	{"no gain, all of it", []string{"gain_lost: {value: 100 %, within: 150 ms}"}, false, func(s *board.Settings) { s.Endings[board.GainLost].Then, s.GainValue = board.GainAtValue, 1 }, "gain trim",
		map[string]func(*board.Settings){"no shift": asTheDemo, "half": func(s *board.Settings) { s.Endings[board.GainLost].Then, s.GainValue = board.GainAtValue, 0.5 }}},
	{"edges that count to and fro", []string{"encoder_lost: {ignored: yes}"}, false, ending(board.EncoderLost, board.ThenIgnored, ""), "broken", map[string]func(*board.Settings){"no shift": asTheDemo}},
	{"nothing is said of losses", []string{"yaw_lost:", "yaw_frozen:", "sequence_frozen:", "steer_lost:", "gain_lost:", "throttle_lost:", "encoder_lost:"}, false, func(s *board.Settings) {
		for l := range s.Endings {
			s.Endings[l] = board.Ending{Then: board.ThenIgnored, Recovers: board.AtPowerCycle}
		}
	}, "", nil},
}

// lossSetup returns the standard losses for the demo car with a school's words in its policy.
func lossSetup(t *testing.T, school *lossSchool, change func(s *board.Settings)) *Setup {
	t.Helper()
	return schoolSetup(t, school, "losses", change)
}

// schoolSetup returns a standard suite for the demo car with a school's words in its policy, and its board changed.
func schoolSetup(t *testing.T, school *lossSchool, suite string, change func(s *board.Settings)) *Setup {
	t.Helper()
	bench := language.Source{Path: demo.BenchPath, Data: demo.BenchYAML}
	if school.bus {
		data, err := os.ReadFile("testdata/receiver_bus.yaml")
		require.NoError(t, err)
		bench = language.Source{Path: "testdata/receiver_bus.yaml", Data: data}
	}
	lines := strings.Split(string(demo.CarYAML), "\n")
	for _, key := range school.policy {
		if from, ok := strings.CutPrefix(key, "speed: "); ok {
			lines = strings.Split(strings.Replace(strings.Join(lines, "\n"), "    speed_from: mean", "    speed_from: "+from, 1), "\n")
			continue
		}
		name, what, _ := strings.Cut(key, ":")
		for i, l := range lines {
			if strings.HasPrefix(l, "  "+name+":") {
				lines[i] = "#"
			}
		}
		if what != "" {
			lines = append(lines, "  "+key)
		}
	}
	path, data, _ := standard.Source(suite)
	s, err := Load(Files{Car: language.Source{Path: demo.CarPath, Data: []byte(strings.Join(lines, "\n"))}, Bench: bench, Suites: []language.Source{{Path: path, Data: data}}, Seed: 1})
	require.NoError(t, err)
	own := board.Bramble()
	change(&own)
	s.board = builtIn(own)
	return s
}

func TestEachSchoolOfLossesPassesByItsOwnWords(t *testing.T) {
	for i := range lossSchools {
		if !drawn.Row(i, 6) {
			continue
		}
		school := &lossSchools[i]
		t.Run(school.name, func(t *testing.T) {
			r, _, err := lossSetup(t, school, school.board).Run(context.Background(), Options{Only: school.cases})
			require.NoError(t, err)
			assert.Positive(t, r.Counts.Pass)
			for _, c := range r.Suites[0].Cases {
				for _, k := range c.Checks {
					assert.Contains(t, []string{record.Pass, record.NotAsked}, k.Verdict, "%s, %s: %s: %s", c.Name, c.Variant, k.Name, k.Why)
				}
			}
			for name, change := range school.wrong {
				r, _, err := lossSetup(t, school, change).Run(context.Background(), Options{Only: school.cases})
				require.NoError(t, err)
				assert.Positive(t, r.Counts.Fail, name)
			}
		})
	}
}
