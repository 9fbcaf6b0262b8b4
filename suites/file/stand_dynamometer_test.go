package file_test

import (
	"errors"
	"fmt"
	"math"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"hilrig/assertions/characteristic"
	"hilrig/suites/file"
	"hilrig/suites/language"
)

// dynamometer reads a stand that judges a CSV file; columns are further keys of file, more further lines.
func dynamometer(text, columns, held string, more ...string) (*file.Stand, error) {
	stand := "stand: s\nmeasure:\n  file: {path: sub/dyno.csv, command: {column: throttle}, torque: {column: torque}" + columns + "}\nheld: [" + held + "]\n" + strings.Join(more, "\n")
	return file.ParseStand(language.Source{Path: "folder/s.yaml", Data: []byte(stand)}, func(path string) ([]byte, error) {
		if path != "folder/sub/dyno.csv" {
			return nil, fmt.Errorf("no file %s", path)
		}
		return []byte(text), nil
	})
}

const (
	csvHead  = "throttle [%],torque [mN m]\n"
	locked   = "{kind: locked, level_limit: 1 s, starts_locked: yes}"
	twoHeld  = "{kind: speed, at: [100 rad/s, 200 rad/s]}"
	withRate = ", speed: {column: rate, unit: rpm}"
)

// badDynamometers are files that cannot be judged, by name.
var badDynamometers = []struct{ name, text, columns string }{
	{"empty", "", ""},
	{"remarks alone", "# nothing\n", ""},
	{"no rows", csvHead, ""},
	{"one point", csvHead + "0,0\n", ""},
	{"one level", "throttle [%],torque [N m],way\n50,10,up\n50,9,down\n", ", direction: {column: way}"},
	{"columns that are not there", "thrttle [%],moment [N m]\n0,0\n", ""},
	{"units", "throttle,torque (N m)\n0,0\n1,1\n", ""},
	{"a wrong unit", "throttle [%],torque [kg]\n0,0\n", ""},
	{"a column twice", "throttle [%],torque [N m],torque [N m]\n0,0,0\n", ""},
	{"values", csvHead + "0,\n10,fast\n20,NaN\n120,1\n\"3,5\",0x10\n30,1e999\n", ""},
	{"rows of other lengths", csvHead + "0\n10,1,2\n", ""},
	{"a repeated level", csvHead + "0,0\n10,1\n10,1.1\n10,1.2\n20,2\n", ""},
	{"a repeated level that says its way", "throttle [%],torque [N m],way\n0,0,up\n10,1,up\n10,1,up\n20,2,Down\n", ", direction: {column: way}"},
	{"a hole", csvHead + "0,0\n10,1\n20,2\n30,3\n30,3\n10,1\n0,0\n", ""},
	{"a way that is none", "throttle [%],torque [N m],way\n0,0,up\n10,1,sideways\n", ", direction: {column: way}"},
	{"a speed that nothing was read at", "throttle [%],torque [N m],rate\n0,0,955\n10,1,955\n20,2,1910\n", withRate},
	{"a speed that is not held", "throttle [%],torque [N m],rate [rpm]\n0,0,955\n10,1,1500\n20,2,960\n", withRate},
	{"binary", csvHead + "0,\x00\x01", ""},
	{"an open quote", csvHead + "0,\"1\n", ""},
}

func TestMessagesOfDynamometersAreThoseOfTheGoldenFile(t *testing.T) {
	var b strings.Builder
	for _, tt := range badDynamometers {
		held := locked
		if tt.columns == withRate {
			held = twoHeld
		}
		_, err := dynamometer(tt.text, tt.columns, held)
		problems, ok := err.(language.Problems)
		require.True(t, ok, tt.name)
		fmt.Fprintf(&b, "=== %s\n%v\n", tt.name, problems)
		for _, p := range problems {
			assert.Equal(t, "folder/sub/dyno.csv", p.File, tt.name)
		}
	}
	golden(t, "testdata/dynamometers.golden", []byte(b.String()))
}

// Up and down, the top read on both ways; commands of a level differ a little.
func TestRowsHaveLevelWayAndCycle(t *testing.T) {
	s, err := dynamometer("# a remark\nThrottle [%];Torque [mN m]\n0;1\n50;101\n100;201\n99.95;202\n50.1;103\n0.1;2\n49.9;100\n100;200\n", "", locked)
	require.NoError(t, err)
	require.Len(t, s.CSV.Levels, 1)
	require.Len(t, s.CSV.Levels[0], 3)
	for i, want := range []float64{0.0005, 0.5, 0.99983} {
		assert.InDelta(t, want, s.CSV.Levels[0][i], 1e-5)
	}
	up, down := characteristic.Up, characteristic.Down
	want := []file.DynamometerRow{
		{Line: 3, Level: 0, Command: 0, Torque: 0.001, Direction: up},
		{Line: 4, Level: 1, Command: 0.5, Torque: 0.101, Direction: up},
		{Line: 5, Level: 2, Command: 1, Torque: 0.201, Direction: up},
		{Line: 6, Level: 2, Command: 0.9995, Torque: 0.202, Direction: down},
		{Line: 7, Level: 1, Command: 0.501, Torque: 0.103, Direction: down},
		{Line: 8, Level: 0, Command: 0.001, Torque: 0.002, Direction: down},
		{Line: 9, Level: 1, Command: 0.499, Torque: 0.1, Direction: up, Cycle: 1},
		{Line: 10, Level: 2, Command: 1, Torque: 0.2, Direction: up, Cycle: 1},
	}
	require.Len(t, s.CSV.Rows, len(want))
	for i, one := range s.CSV.Rows {
		assert.True(t, math.IsNaN(one.Speed))
		one.Speed = 0
		assert.InDelta(t, want[i].Command, one.Command, 1e-12)
		assert.InDelta(t, want[i].Torque, one.Torque, 1e-12)
		one.Command, one.Torque = want[i].Command, want[i].Torque
		assert.Equal(t, want[i], one)
	}
	assert.False(t, s.Plays())
	assert.Empty(t, s.Layout().Lines)
	assert.Equal(t, file.FromCSV, s.TorqueBy(&s.Held[0]))
}

// With a column of the direction the levels of a way come in any order, as where they were drawn.
func TestRowsInADrawnOrder(t *testing.T) {
	const columns, head = ", direction: {column: way}", "throttle [%],torque [N m],way\n"
	drawn := head + "50,.5,up\n100,1,up\n0,0,up\n100,1,down\n0,0,down\n50,.5,down\n0,0,up\n50,.5,up\n100,1,up\n"
	s, err := dynamometer(drawn, columns, locked)
	require.NoError(t, err)
	var cycles []int
	for _, one := range s.CSV.Rows {
		cycles = append(cycles, one.Cycle)
	}
	assert.Equal(t, []int{0, 0, 0, 0, 0, 0, 1, 1, 1}, cycles)
	_, err = dynamometer(strings.Replace(drawn, "50,.5,up\n", "", 1), columns, locked)
	assert.ErrorContains(t, err, "dyno.csv:3:1: there is a hole before this row: level 50 % is missing between 100 % and 0 %; read every level on every way, or leave that one out everywhere")
	_, err = dynamometer(strings.Replace(drawn, "0,0,up\n100,1,down", "0,0,up\n50,.5,up\n100,1,down", 1), columns, locked)
	assert.ErrorContains(t, err, "dyno.csv:5:1: level 50 % stands on this way twice, in line 2 too; average the readings of a level into one row")
	_, err = dynamometer("throttle [%],torque [N m]\n100,1\n0,0\n50,.5\n0,0\n", "", locked)
	assert.ErrorContains(t, err, "where the order was drawn, name a column of the direction")
}

// 955 rpm are 100.01 rad/s: by hand, times pi/30.
func TestRowsBelongToTheSpeedThatIsHeld(t *testing.T) {
	s, err := dynamometer("throttle [%],torque [N m],rate,way\n0,0,955,up\n100,1,955,up\n0,0,1910,up\n50,.5,1911,up\n100,.6,1911,up\n50,.2,1911,down\n", withRate+", direction: {column: way}", twoHeld)
	require.NoError(t, err)
	assert.True(t, s.CSV.HasSpeed)
	var held []int
	for _, one := range s.CSV.Rows {
		held = append(held, one.Held)
	}
	assert.Equal(t, []int{0, 0, 1, 1, 1, 1}, held)
	assert.InDelta(t, 100.007, s.CSV.Rows[0].Speed, 1e-3)
	assert.Equal(t, [][]float64{{0, 1}, {0, 0.5, 1}}, s.CSV.Levels)
}

func TestAFileThatCannotBeRead(t *testing.T) {
	stand := language.Source{Path: "s.yaml", Data: []byte("stand: s\nmeasure: {file: {path: a.csv, command: {column: a}, torque: {column: b}}}\nheld: [" + locked + "]\n")}
	_, err := file.ParseStand(stand, func(string) ([]byte, error) { return nil, errors.New("it is\nnot there") })
	assert.ErrorContains(t, err, "s.yaml:2:24: the file a.csv cannot be read: it is not there; give a CSV file beside the stand file")
	_, err = dynamometer(csvHead+"0,0\n1,1\n", "", twoHeld)
	assert.ErrorContains(t, err, "folder/sub/dyno.csv:2:1: 2 conditions are held, and no column says which a row belongs to")
	_, err = file.ParseStand(stand, nil)
	assert.ErrorContains(t, err, "s.yaml:2:24: the file a.csv cannot be opened from here")
}

// The file of a dynamometer lies where the stand file is, whatever the working folder; what is
// wrong with it is told at its own place.
func TestDynamometerIsLookedForWhereTheStandFileIs(t *testing.T) {
	const text = "stand: dyno\nmeasure:\n  file: {path: runs/dyno.csv, command: {column: throttle, unit: '%'}, torque: {column: torque, unit: N m}}\nheld: [{kind: locked, level_limit: 1 s, starts_locked: yes}]\n"
	var asked []string
	nowhere := errors.New("nowhere")
	for _, where := range []string{"mine/stand.yaml", "stand.yaml", "/mine/stand.yaml"} {
		_, err := file.ParseStand(language.Source{Path: where, Data: []byte(text)}, func(path string) ([]byte, error) {
			asked = append(asked, path)
			return nil, nowhere
		})
		require.ErrorContains(t, err, "nowhere")
	}
	assert.Equal(t, []string{"mine/runs/dyno.csv", "runs/dyno.csv", "/mine/runs/dyno.csv"}, asked)
}

func TestLimitsThatAFileSaysNothingOfAreWarnedOf(t *testing.T) {
	const rows = csvHead + "0,0\n50,1\n100,2\n"
	for limits, want := range map[string]string{
		"limits: {linearity: {at_most: 2 %}, hysteresis: 1 %, repeatability: 1 %}":          "",
		"limits: {dead_band: 1 %, resolution: 1 %, drift: 1 %, delay: 1 s, rise_time: 1 s}": "dead_band, resolution, drift, delay, rise_time will stay undecided",
	} {
		s, err := dynamometer(rows, "", locked, limits)
		require.NoError(t, err)
		assert.Contains(t, file.LintStand(s).String(), want)
		assert.Equal(t, want == "", len(file.LintStand(s)) == 0)
	}
}
