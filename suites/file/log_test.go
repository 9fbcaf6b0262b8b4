package file_test

import (
	"fmt"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"hilrig/rig/trace"
	"hilrig/suites/file"
	"hilrig/suites/language"
)

const head = "time [s],speed [m/s],steer [deg],yaw_rate [deg/s],throttle [%]\n"

// rows returns n rows of a log, 10 ms apart.
func rows(n int) string {
	var b strings.Builder
	for i := range n {
		fmt.Fprintf(&b, "%.2f,4,0,0,20\n", float64(i)/100)
	}
	return b.String()
}

// badLogs are drive logs that cannot be played, by name.
var badLogs = []struct{ name, log string }{
	{"empty", ""},
	{"remarks alone", "# nothing\n# at all\n"},
	{"no rows", head},
	{"one row", head + "0,4,0,0,20\n"},
	{"missing columns", "speed [m/s],yaw_rate [deg/s]\n4,0\n"},
	{"no yaw rate", "time [s],speed [m/s],steer [deg],throttle [%]\n0,4,0,20\n1,4,0,20\n"},
	{"units", "time,speed [m/s2],steer [deg,yaw_rate (deg/s),throttle [%]\n0,4,0,0,20\n"},
	{"a column twice", strings.Replace(head, "yaw_rate [deg/s]", "speed [km/h]", 1) + rows(2)},
	{"values", head + "0,4,0,0,20\n0.01,fast,,NaN,inf\n0.02,\"4,5\",1 deg,1e999,20\n0.03,60,0,0,120\n"},
	{"rows of other lengths", head + "0,4,0,0\n0.01,4,0,0,20,1\n"},
	{"time that does not rise", head + "0,4,0,0,20\n0.02,4,0,0,20\n0.02,4,0,0,20\n0.01,4,0,0,20\n0.03,4,0,0,20\n"},
	{"a hole in time", head + rows(10) + "0.20,4,0,0,20\n0.21,4,0,0,20\n"},
	{"too long", head + "0,4,0,0,20\n900,4,0,0,20\n1801,4,0,0,20\n"},
	{"far too long", head + "0,4,0,0,20\n1e300,4,0,0,20\n"},
	{"many columns", strings.Repeat("a,", 1000) + head},
	{"binary", head + "0,4,\x00\x01\x02"},
	{"a picture", "\x89PNG\r\n\x1a\n"},
	{"an open quote", head + "0,\"4,0,0,20\n"},
	{"a quote within", head + "0,4\"5,0,0,20\n"},
	{"decimal commas", strings.ReplaceAll(head, ",", ";") + "0,00;4,5;0;0;20\n0,01;4,5;0;0;20\n"},
	{"wide characters before it", head + "0,4,0,0,20\n\" 0.01\", µ,0,0,20\n"},
}

func TestMessagesOfDriveLogsAreThoseOfTheGoldenFile(t *testing.T) {
	var b strings.Builder
	for _, tt := range badLogs {
		_, err := replaying(t, tt.log, "")
		problems, ok := err.(language.Problems)
		require.True(t, ok, tt.name)
		fmt.Fprintf(&b, "=== %s\n%v\n", tt.name, problems)
	}
	golden := filepath.Join("testdata", "logs.golden")
	if *update {
		require.NoError(t, os.WriteFile(golden, []byte(b.String()), 0o644))
	}
	want, err := os.ReadFile(golden)
	require.NoError(t, err)
	assert.Equal(t, string(want), b.String())
}

func TestALogOf50MBIsRefusedAndOneJustBelowIsRead(t *testing.T) {
	_, err := replaying(t, strings.Repeat("0,4,0,0,20\n", 5<<20), "")
	assert.ErrorContains(t, err, "mine/logs/gravel.csv:1:1: the drive log has 57671680 bytes, more than 52428800; cut it, or thin out its rows")
}

func TestALogThatCannotBeOpened(t *testing.T) {
	car, bench := bramble(t)
	data := "suite: s\ndefaults: {gain: 50 %}\ncases: [{case: a, replay: a.csv, expect: [{policy: cap}]}, {case: b, replay: ../b.csv, expect: [{policy: cap}]}]\n"
	_, err := file.ParseSuiteWith(language.Source{Path: "mine/s.yaml", Data: []byte(data)}, file.SuiteOptions{Car: car, Bench: bench, Read: func(path string) ([]byte, error) {
		return nil, fmt.Errorf("open %s:\nno such file", path)
	}})
	assert.ErrorContains(t, err, "mine/s.yaml:3:27: drive log a.csv cannot be read: open mine/a.csv: no such file; give a CSV file beside the suite file")
	assert.ErrorContains(t, err, "drive log ../b.csv cannot be read: open b.csv: no such file")
}

func TestLogsMayDifferInForm(t *testing.T) {
	tests := []struct{ name, log string }{
		{"as it should be", head + "0,4,1,2,20\n0.5,5,-1,-2,30\n"},
		{"another order and units", "throttle [%], yaw_rate [rad/s], time [ms], speed [km/h], steer [rad]\n" +
			fmt.Sprintf("20,%v,0,14.4,%v\n30,%v,500,18,%v\n", rad(2), rad(1), rad(-2), rad(-1))},
		{"semicolons", strings.ReplaceAll(head+"0,4,1,2,20\n0.5,5,-1,-2,30\n", ",", ";")},
		{"quotes, blanks and empty lines", "\"time [s]\",\"speed [m/s]\",\"steer [deg]\",\"yaw_rate [deg/s]\",\"throttle [%]\"\r\n\r\n\"0\", 4 , 1, 2, 20\r\n\r\n0.5,5,-1,-2,30\r\n"},
		{"a mark and no line end", "\ufeff# r\n" + head + "0,4,1,2,20\n0.5,5,-1,-2,30"},
		{"a later start", head + "100,4,1,2,20\n100.5,5,-1,-2,30\n"},
		{"further columns", "battery [V],\"weather, if any\"," + head + "12,rain,0,4,1,2,20\n11,\"rain, hail\",0.5,5,-1,-2,30\n"},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			s, err := replaying(t, tt.log, "")
			require.NoError(t, err)
			log := last(s, 0)
			assert.Equal(t, 500*ms, log.Observe)
			for channel, want := range map[trace.Channel][2]float64{
				trace.Speed: {4, 5}, trace.Steer: {rad(1), rad(-1)}, trace.YawRate: {rad(2), rad(-2)}, trace.Throttle: {0.2, 0.3},
			} {
				assert.InDelta(t, want[0], of(log, channel).At(0), 1e-12)
				assert.InDelta(t, want[1], of(log, channel).At(500*ms), 1e-12)
			}
		})
	}
}

func TestALogThatHasItAllNeedsNoDefaults(t *testing.T) {
	s, err := replaying(t, strings.Replace(head, "throttle [%]", "throttle [%],gain [%]", 1)+"0,4,0,0,20,70\n1,4,0,0,20,60\n", "")
	require.NoError(t, err)
	assert.Equal(t, 0.7, last(s, 0).Values.Gain)
	assert.InDelta(t, 0.65, of(last(s, 0), trace.Gain).At(500*ms), 1e-12)
}

func TestOpenLoopNeedsAYawRateAndClosedLoopDoesNot(t *testing.T) {
	log := "time [s],speed [m/s],steer [deg],throttle [%]\n0,4,8,20\n1,4,0,20\n"
	s, err := replaying(t, log, "closed: yes, ")
	require.NoError(t, err)
	assert.InEpsilon(t, 4*8/(0.33+0.0028*16)*deg, last(s, 0).Values.YawRate, 1e-12, "on demand at first")
	_, err = replaying(t, log, "")
	assert.ErrorContains(t, err, "mine/s.yaml:4:23: drive log logs/gravel.csv has no column yaw_rate, which open loop needs")
}

func TestALogIsNotReplayedWithoutEnd(t *testing.T) {
	var gains []string
	for i := range 101 {
		gains = append(gains, fmt.Sprint(i)+" %")
	}
	_, err := replaying(t, head+rows(3), "each: {gain: ["+strings.Join(gains, ", ")+"]}, ")
	assert.ErrorContains(t, err, "mine/s.yaml:4:5: the suite replays drive logs more than 100 times once it is expanded")
	_, err = replaying(t, head+rows(3), "each: {gain: ["+strings.Join(gains[:100], ", ")+"]}, ")
	assert.NoError(t, err)
}

func TestWhatALogHasIsNotSaidTwice(t *testing.T) {
	_, err := replaying(t, head+rows(3), "speed: 4 m/s, baseline: {speed: 3 m/s}, ")
	assert.ErrorContains(t, err, "speed stands in the drive log as well; give it in one place")
	assert.ErrorContains(t, err, "the baseline before a drive log holds its first row, not its own speed")
}

func FuzzParseLog(f *testing.F) {
	for _, tt := range badLogs {
		f.Add([]byte(tt.log))
	}
	f.Add([]byte(gravel))
	f.Add([]byte(head + rows(20)))
	f.Fuzz(func(t *testing.T, data []byte) {
		s, err := replaying(t, string(data), "closed: yes, ")
		if err == nil {
			log := last(s, 0)
			for _, m := range log.Shapes {
				for at := -1 * ms; at < log.Observe+ms; at += log.Observe/7 + 1 {
					if x := m.Shape.At(at); x-x != 0 {
						t.Fatalf("%v is %v at %v", m.Channel, x, at)
					}
				}
			}
			return
		}
		for _, p := range err.(language.Problems) {
			lines := 1 + strings.Count(string(data), "\n")
			if p.File != "mine/s.yaml" && p.Line > lines || p.Line < 1 || p.Column < 1 || strings.ContainsAny(p.Error(), "\n\r") {
				t.Errorf("no such place, or not one line: %q", p.Error())
			}
		}
	})
}
