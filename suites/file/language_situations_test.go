package file

import (
	"bytes"
	"fmt"
	"regexp"
	"slices"
	"strings"
	"sync"

	"hilrig/assertions"
	"hilrig/suites/demo"
	"hilrig/suites/language"
	"hilrig/suites/standard"
)

// stepNeeds says of each situation what a step has to hold, or a case, for it to be shown. That there is one for each, and
// none for another, is tested.
var stepNeeds = map[string]string{
	"understeer":         "a yaw rate of the demand's sign and smaller, beyond the dead band; some gain, and throttle with room both ways",
	"oversteer":          "a yaw rate larger than the demand, or of the other sign; some gain, and throttle with room both ways",
	"on_demand":          "`yaw_rate: 100 % of demand`",
	"opposite_lock":      "a yaw rate of the other sign than the demand",
	"zero_gain":          "`gain: 0 %`; the yaw rate is free",
	"standstill":         "a speed below the policy's `no_shift_below`; a yaw rate that would be an error",
	"reverse":            "a speed below 0; a yaw rate that would be an error",
	"straight":           "a steer angle below the policy's `no_shift_below`; a yaw rate that would be an error",
	"braking":            "a throttle below 0 %, on motors that have a neutral",
	"cap":                "a throttle at the cap or above, with the wheels turned further than `steer_above`",
	"floor":              "a throttle near idle, and a yaw error that lowers a motor",
	"at_the_limit":       "a throttle at which a motor has no room for its whole shift",
	"answers_throttle":   "an earlier step with less throttle",
	"answers_too_little": "the same as understeer",
	"answers_too_much":   "the same as oversteer",
	"arms":               "a first step of a case with `power_up: yes` and `baseline: none`, the throttle up and no fault; then one with the throttle at idle, and one that drives",
	"bad_pulse":          "a step in which one pulse of a receiver's channel has `is: bad_pulse`, some time after it has settled, and a step before it without",
	"bad_checksum":       "a step whose frames have `is: wrong_checksum` and hold a yaw rate on the other side of the demand than the step before it",
	"dead_band":          "a yaw error within the band, or beyond it; and in the case one beyond it that asks for a shift",
	"demand":             "`sweep: {yaw_rate: [50 % of demand, 150 % of demand]}` over some seconds",
	"demand_side":        "a yaw rate near the demand and on one side of it, as `yaw_rate: {clear: 90 % of demand}`, held for a second and more; for a shift that gathers with time",
	"derivative":         "at least three steps of `yaw_rate: {sine: 15 % of demand, at: 8 Hz, about: 40 % of demand}` or the like, each faster than the one before",
	"encoder_lost":       "`faults: [{wire: rear_left, is: lost}]`, or `is: stuck`, after a step without a fault",
	"follows":            "a drive log, or a step in which the values move",
	"gain_lost":          "`faults: [{wire: gain, is: lost}]` after a step without a fault",
	"loop_rate":          "any step in which the commands change, as with noise, for some seconds; in the same case a step of `trials: {yaw_rate: […]}`, for boards that count the wheels' marks over longer than a turn of their loop; or, where no motor surely follows the speed, a step of `trials: {throttle: […]}`",
	"monotone":           "at least two steps that differ in the size of the yaw error alone",
	"no_wind_up":         "a step on demand after one with a motor at its limit for long; of a shift that gathers with time nothing is asked, for it may stay on demand or leak away slowly",
	"no_wrap":            "a throttle that goes through its range with a yaw error, as `throttle: {ramp: [0 %, 100 %], over: 2 s}`",
	"outputs_together":   "changes, as by `trials: {yaw_rate: […]}`, or any step with commands",
	"proportional":       "at least three steps with different yaw errors of one branch, away from the limits",
	"receiver_flag":      "`faults: [{wire: receiver, is: failsafe_flag}]` on a receiver's bus, after a step without a fault",
	"receiver_lost":      "`faults: [{wire: receiver, is: lost}]` after a step without a fault",
	"recovers":           "a step after one with a fault, with the values of a step before the fault",
	"winds_back":         "a step with a yaw error after one that has held one as large of the other sense for four seconds and more; for a shift that gathers with time",
	"resolution":         "`sweep: {throttle: [40 %, 60 %]}` with the gain at 0 %, over ten seconds",
	"response":           "`trials: {yaw_rate: [60 % of demand, 140 % of demand]}`, or trials of steer or throttle",
	"sequence_frozen":    "`faults: [{wire: yaw_rate, is: sequence_stuck}]` after a step without a fault",
	"spike":              "`faults: [{wire: yaw_rate, is: spike, by: 200 deg/s, after: 50 ms}]` after a step without a fault",
	"start":              "a first step of a case with `power_up: yes` and `baseline: none`, the throttle up and one input lost; then one that drives. Where the policy has `arms: throttle_at_idle`, the throttle goes to idle in the first step and comes again",
	"start_at_rest":      "a first step of a case with `power_up: yes` and `baseline: none`, longer than that time, the car at rest or rolling; then one that drives. Where the policy has `arms: throttle_at_idle`, and the step is not asked `arms`, the throttle of a car at rest stands at idle and goes up shortly before that time is over",
	"steer_lost":         "`faults: [{wire: steer, is: lost}]` after a step without a fault",
	"steer_rate":         "at least three steps of `steer: {sine: 2 deg, at: 4 Hz, about: 8 deg}` or the like, each faster than the one before, and a yaw rate that is held",
	"sum_cap":            "a throttle at which the four commands together come to the cap",
	"throttle_as_it_is":  "`gain: 0 %`",
	"throttle_curve":     "a case of steps with `gain: 0 %` from idle to full throttle",
	"throttle_lost":      "`faults: [{wire: throttle, is: lost}]` after a step in which the motors drive",
	"yaw_frozen":         "`faults: [{wire: yaw_rate, is: stuck}]` after a step without a fault",
	"yaw_lost":           "`faults: [{wire: yaw_rate, is: lost}]` after a step without a fault",
}

// writeSituations writes the section of the situations.
func writeSituations(p *page) {
	p.WriteString(pageText("situations.md"))
	shown := plannedSituations()
	for _, of := range assertions.Situations {
		needs := "nothing"
		if words := assertions.NeededFor(of); words != nil {
			needs = strings.Join(words, "; ")
		}
		counted := "no"
		if assertions.NeedsBaseline(of) {
			counted = "yes"
		}
		s := shown[of]
		fmt.Fprintf(p, "| `%s` | %s | %s | %s | %s | %s |\n", of, needs, counted, cell(stepNeeds[of]), cell(strings.Join(s.checks, "; ")), s.in)
	}
}

// plannedSituation is what a standard suite makes of a situation.
type plannedSituation struct {
	in     string // the suite, and its first case that asks it
	checks []string
}

// motorWord is a motor in the name of a check.
var motorWord = regexp.MustCompile(`(outside|inside|front|rear)_(front|rear|left|right)`)

// plannedSituations finds out for each situation which checks the standard suites plan, for both demo cars, and for Bramble with policies
// that say the rest.
var plannedSituations = sync.OnceValue(func() map[string]plannedSituation {
	all := map[string]plannedSituation{}
	for i, own := range []demo.Setup{demo.Of("built-in"), demo.Of("built-in/moment"), demo.Of("built-in"), demo.Of("built-in"), demo.Of("built-in")} {
		switch i {
		case 2:
			own.Car = bytes.Replace(own.Car, []byte("throttle_curve: none"), []byte("throttle_curve: calibrated\n  braking: no_shift\n  sum_cap: 300 %"), 1)
			own.Bench = bytes.Replace(own.Bench, []byte("with_neutral: no"), []byte("with_neutral: yes"), 1)
			own.Bench = bytes.Replace(own.Bench, []byte("throttle: {rate: 100 Hz, idle: 1000 us"), []byte("throttle: {rate: 100 Hz, idle: 1500 us"), 1)
			own.Bench = bytes.Replace(own.Bench, []byte("  idle: 1000 us"), []byte("  idle: 1500 us"), 1)
		case 3:
			own.Car = regexp.MustCompile(`(?m)^  understeer: .*$`).ReplaceAll(own.Car, nil)
		case 4:
			own.Car = bytes.Replace(own.Car, []byte("    steer: linear\n"), []byte("    steer: linear\n    steer_rate: 30 ms\n"), 1)
			own.Car = regexp.MustCompile(`(?m)^(  shift_at: .*)}$`).ReplaceAll(own.Car, []byte("${1}, derivative_time: 20 ms}"))
		}
		car, err := ParseCar(language.Source{Path: own.CarPath, Data: own.Car})
		must(err)
		bench, err := ParseBench(language.Source{Path: own.BenchPath, Data: own.Bench})
		must(err)
		for _, name := range append(standard.Names(), standard.Life) {
			path, data, _ := standard.Source(name)
			s, err := ParseSuiteWith(language.Source{Path: path, Data: data}, SuiteOptions{Car: car, Bench: bench, Read: func(string) ([]byte, error) { return demo.LogCSV, nil }})
			must(err)
			for j := range s.Cases {
				s.Cases[j].situations(name, car, bench, all)
			}
		}
	}
	return all
})

// situations adds what a case's expectations plan.
func (c *Case) situations(suite string, car *Car, bench *Bench, all map[string]plannedSituation) {
	for i := range c.Expect {
		check, ok := c.Expect[i].Check.(assertions.PolicyBranch)
		if !ok {
			continue
		}
		for _, one := range c.Planned(i, car, bench) {
			if !one.Asked || one.Why != "" {
				continue
			}
			s := all[check.Of]
			if s.in == "" {
				s.in = fmt.Sprintf("`%s`: %s", suite, c.Name)
			}
			_, name, found := strings.Cut(one.Name, ": ")
			if !found {
				name = one.Name
			}
			name = numbers.ReplaceAllString(motorWord.ReplaceAllString(name, "MOTOR"), "N")
			if !slices.Contains(s.checks, name) {
				s.checks = append(s.checks, name)
			}
			all[check.Of] = s
		}
	}
}

func must(err error) {
	if err != nil {
		panic(err) // the demo's files and the standard suites are right
	}
}
