package file_test

import (
	"fmt"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"hilrig/rig/raspberry/pinout"
	"hilrig/suites/demo"
	"hilrig/suites/file"
	"hilrig/suites/language"
)

// traps are slips that people make, and what other programs do to a file on its way: the kind of file that
// hilrig new makes, what of it is replaced, and by what. Where nothing is replaced the whole is.
var traps = []struct{ name, kind, from, to string }{
	{"as it is made", "suite", "cases:", "cases:"},
	{"no content", "suite", "", ""},
	{"UTF-16", "suite", "", "\xff\xfes\x00u\x00i\x00t\x00e\x00"},
	{"a picture", "suite", "", "\x89PNG\r\n\x1a\n\x00"},
	{"Latin-1", "suite", "first checks", "f\xfcr den Anfang"},
	{"lines that end in carriage returns", "suite", "", "suite: s\rcases: []\r"},
	{"another program's line ends and mark", "suite", "suite: first", "\ufeffsuite: first"},
	{"two documents", "suite", "cases:", "---\ncases:"},
	{"a directive", "suite", "", "%YAML 1.1\n---\nsuite: s\ncases: []\n"},
	{"a drive log by itself", "drive.csv", "", "time [s],speed [m/s]\n0,4\n"},
	{"keys of no kind of file", "suite", "", "suit: s\n"},
	{"deep", "suite", "cases:", "about: " + strings.Repeat("[", 30) + strings.Repeat("]", 30) + "\ncases:"},

	{"a key twice", "suite", "throttle: 40 %,", "throttle: 40 %, throttle: 50 %,"},
	{"a missing dash", "suite", "  - case: no shift on demand", "    case: no shift on demand"},
	{"a missing dash in expect", "suite", "      - {policy: cap}", "        {policy: cap}"},
	{"indentation by three", "suite", "    expect:\n      - {policy: on_demand}", "   expect:\n      - {policy: on_demand}"},
	{"a tab before a key", "suite", "    turn: left", "\tturn: left"},
	{"a quote that is not closed", "bench", "port: yaw_serial", "port: 'yaw_serial"},
	{"a quote that the next one closes", "car", "car: mine", "car: \"mine"},
	{"a quote that the next one closes in a table", "suite", "each: {turn: [left, right], speed: [1.5 m/s, 3 m/s]}\n    hold: {yaw_rate: 130", "each: {turn: ['left, right], speed: [1.5 m/s, 3 m/s]}\n    hold: {yaw_rate: '130"},
	{"a line that is wrong behind a quote of several", "suite", "cases:", "about: \"one\n  two\"\n cases:"},
	{"a bracket that is not closed", "suite", "observe: 400 ms}", "observe: 400 ms"},
	{"a bracket closed by another", "suite", "3 m/s]}\n    hold: {yaw_rate: 70", "3 m/s}\n    hold: {yaw_rate: 70"},
	{"a remark within braces", "suite", "gain: 100 %, settle", "gain: 100 % # all of it, settle"},
	{"two colons", "suite", "hold: {yaw_rate: 130 % of demand}", "hold: yaw_rate: 130 % of demand"},
	{"a colon in a name", "suite", "case: near full throttle", "case: near: full throttle"},
	{"no blank behind a colon", "suite", "{policy: cap}", "{policy:cap}"},
	{"a tab behind a colon", "car", "mass: 3.9 kg", "mass:\t3.9 kg"},
	{"no blank behind a colon of a block", "suite", "    turn: left", "    turn:left"},
	{"no blank before a bracket", "suite", "range: [0 %, 93 %]", "range:[0 %, 93 %]"},
	{"no blank behind a quoted key", "suite", "{policy: cap}", `{"policy":cap}`},
	{"no blank before a quote", "suite", "{policy: cap}", `{policy:"cap"}`},
	{"a merge key", "suite", "cases:", "<<: {about: s}\ncases:"},
	{"an alias without its anchor", "suite", "defaults: {", "defaults: {yaw_rate: *yaw, "},
	{"an alias used twice", "suite", "throttle: 40 %, gain: 100 %", "throttle: &forty 40 mm, gain: *forty"},
	{"a case without a name", "suite", "case: near full throttle", "case:"},
	{"a case with an empty name", "suite", "case: near full throttle", `case: ""`},
	{"a capital", "suite", "- case: near", "- Case: near"},
	{"a key in the singular", "suite", "cases:", "case:"},
	{"a key that looks like another", "suite", "    hold: {yaw_rate: 130 % of demand}", "    holt: {yaw_rate: 130 % of demand}"},
	{"an angle beyond the steering table", "suite", "steer: 8 deg", "steer: 38 deg"},
	{"a word for another", "suite", "{motor: all, range", "{motor: each, range"},
	{"a blank for an underscore", "suite", "{policy: on_demand}", "{policy: on demand}"},

	{"a pound of a car", "car", "mass: 3.9 kg", "mass: 0.45 kg"},
	{"a hundredweight of a car", "car", "mass: 3.9 kg", "mass: 50 kg"},
	{"a diameter for a radius", "car", "wheel_radius: 54 mm", "wheel_radius: 135 mm"},
	{"inches for millimetres", "car", "wheel_radius: 54 mm", "wheel_radius: 12 mm"},
	{"half a track", "car", "track: 300 mm", "track: 80 mm"},
	{"a motor at its shaft", "car", "policy:\n", "motor: {stall_torque: 0.02 N m, no_load_speed: 4000 rad/s}\npolicy:\n"},
	{"a walking pace", "car", "policy:\n", "motor: {stall_torque: 2 N m, no_load_speed: 15 rad/s}\npolicy:\n"},
	{"an inertia of another unit", "car", "policy:\n", "yaw_inertia: 7.5 kg m2\npolicy:\n"},
	{"an understeer gradient in degrees", "car", "understeer_gradient: 0.0028 rad/(m/s2)", "understeer_gradient: 0.16 rad/(m/s2)"},

	{"a decimal comma", "car", "wheelbase: 330 mm # guessed", "wheelbase: 0,33 m # guessed"},
	{"a decimal comma in braces", "suite", "speed: 3 m/s,", "speed: 3,5 m/s,"},
	{"a decimal comma in a list", "suite", "speed: [1.5 m/s, 3 m/s]}\n    hold: {yaw_rate: 130", "speed: [1,5 m/s, 3 m/s]}\n    hold: {yaw_rate: 130"},
	{"a typographic minus", "car", "pulse: 1000 us, left: -", "pulse: 1000 us, left: −"},
	{"no unit", "suite", "speed: 3 m/s,", "speed: 3,"},
	{"a unit of something else", "suite", "steer: 8 deg,", "steer: 8 deg/s,"},
	{"radians that are degrees", "suite", "steer: 8 deg,", "steer: 8 rad,"},
	{"a unit in capitals", "suite", "speed: 3 m/s,", "speed: 10 KMH,"},
	{"a unit in words", "suite", "steer: 8 deg,", "steer: 8 degrees,"},
	{"not a number", "suite", "speed: 3 m/s,", "speed: .nan,"},
	{"infinite", "suite", "speed: 3 m/s,", "speed: inf m/s,"},
	{"a huge number", "suite", "observe: 400 ms", "observe: 1e400 ms"},
	{"digits in groups", "bench", "baud: 115200 Bd", "baud: 115_200 Bd"},
	{"ten minutes by another way", "suite", "observe: 400 ms", "observe: 600001 ms"},
	{"a share of nothing", "suite", "yaw_rate: 130 % of demand", "yaw_rate: 130 %"},
	{"bounds the wrong way round", "suite", "range: [0 %, 93 %]", "range: [93 %, 0 %]"},
	{"a mistake in many variants", "suite", "hold: {yaw_rate: 130 % of demand}", "hold: {yaw_rate: 9000 deg/s}"},
	{"the wrong situation in four variants", "suite", "{policy: oversteer}", "{policy: understeer}"},
	{"no room in four variants", "suite", "yaw_rate: 130 % of demand", "yaw_rate: 900 % of demand"},
	{"a pulse that the receiver does not send", "suite", "throttle: 90 %", "throttle: -50 %"},

	{"a faster kind of frame", "bench", "kind: servo_pulse", "kind: dshot1200"},
	{"pulse widths at frames", "bench", "kind: servo_pulse", "kind: dshot600"},
	{"capitals of a kind", "bench", "kind: servo_pulse", "kind: DShot600"},
}

// badRows are drive logs as other programs write them, by name.
var badRows = []struct{ name, log string }{
	{"tabs", strings.ReplaceAll(head, ",", "\t") + "0\t4\t0\t0\t20\n"},
	{"units without brackets", "time s,speed m/s,steer deg,yaw_rate deg/s,throttle %\n0,4,0,0,20\n"},
	{"decimal commas among commas", head + "0,0,4,0,0,20\n0,1,4,0,0,20\n"},
	{"decimal commas among semicolons", strings.ReplaceAll(head, ",", ";") + "0,0;4;0;0;20\n0,1;4;0;0;20\n"},
	{"a typographic minus", head + "0,4,0,−3,20\n0.1,4,0,3,20\n"},
	{"a quote that is not closed", head + "0,4,0,\"3,20\n0.1,4,0,3,20\n0.2,4,0,3,20\n"},
	{"text behind a quote", head + "0,4,0,\"3\"0,20\n"},
	{"rows that end in a comma", head + strings.ReplaceAll(rows(5), "\n", ",\n")},
	{"an empty row of a table", head + rows(5) + ",,,,\n"},
	{"times of day", head + "12:00:00,4,0,0,20\n12:00:01,4,0,0,20\n"},
	{"UTF-16", "\xff\xfet\x00i\x00m\x00e\x00"},
	{"50000 rows with a word for the time", head + strings.Repeat("x,4,0,0,20\n", 50000)},
	{"50000 rows with all sorts of mistakes", head + strings.Repeat("x,fast,−1,NaN,\n", 10000)},
	{"more than anybody counts", head + strings.Repeat("x,4,0,0,20\n", 100_100)},
	{"seconds for milliseconds", strings.Replace(head, "[s]", "[ms]", 1) + rows(5)},
	{"a row every 20 s", head + "0,4,0,0,20\n20,4,0,0,20\n40,4,0,0,20\n"},
}

// trapped says what is found in the files that hilrig new makes, one of them changed, or in a log.
func trapped(t *testing.T, kind, from, to, log string) string {
	t.Helper()
	var all []language.Source
	for _, f := range demo.New("mine") {
		if strings.TrimSuffix(f.Name, ".yaml") == kind {
			text := to
			if from != "" {
				require.Contains(t, string(f.Data), from)
				text = strings.Replace(string(f.Data), from, to, 1)
			}
			f.Data = []byte(text)
		}
		all = append(all, language.Source{Path: f.Name, Data: f.Data})
	}
	if strings.HasSuffix(kind, ".csv") {
		all = append(all, language.Source{Path: kind, Data: []byte(to)})
	}
	if log != "" {
		all[2].Data = []byte("suite: s\ndefaults: {gain: 50 %}\ncases:\n  - {case: a, each: {turn: [left, right]}, replay: drive.csv, expect: [{motor: all, range: [0 %, 92 %]}]}\n")
	}
	l := file.LintFiles(all, all[0], all[1], pinout.NoPi, func(string) ([]byte, error) { return []byte(log), nil })
	var b strings.Builder
	for _, p := range l.Problems {
		fmt.Fprintln(&b, language.Problems{p})
	}
	for _, w := range l.Warnings {
		fmt.Fprintln(&b, "warning:", language.Problems{w})
	}
	fmt.Fprintf(&b, "%d problems, %d warnings\n", l.Problems.Count(), len(l.Warnings))
	return b.String()
}

func TestWhatIsSaidOfEachTrapIsThatOfTheGoldenFile(t *testing.T) {
	var b strings.Builder
	for _, tt := range traps {
		fmt.Fprintf(&b, "=== %s\n%s\n", tt.name, trapped(t, tt.kind, tt.from, tt.to, ""))
	}
	for _, tt := range badRows {
		fmt.Fprintf(&b, "=== a log: %s\n%s\n", tt.name, trapped(t, "", "", "", tt.log))
	}
	golden := filepath.Join("testdata", "traps.golden")
	if *update {
		require.NoError(t, os.WriteFile(golden, []byte(b.String()), 0o644))
	}
	want, err := os.ReadFile(golden)
	require.NoError(t, err)
	assert.Equal(t, string(want), b.String())
}
