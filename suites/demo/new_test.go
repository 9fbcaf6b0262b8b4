package demo_test

import (
	"regexp"
	"slices"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"hilrig/suites/demo"
	"hilrig/suites/file"
	"hilrig/suites/language"
)

// read reads the files to start from, of a car of that name.
func read(t *testing.T, name string) (*file.Car, *file.Bench, *file.Suite) {
	t.Helper()
	files := demo.New(name)
	require.Len(t, files, 3)
	sources := make([]language.Source, len(files))
	for i, f := range files {
		sources[i] = language.Source{Path: f.Name, Data: f.Data}
	}
	car, err := file.ParseCar(sources[0])
	require.NoError(t, err)
	bench, err := file.ParseBench(sources[1])
	require.NoError(t, err)
	suite, err := file.ParseSuite(sources[2], car, bench)
	require.NoError(t, err)
	return car, bench, suite
}

func TestFilesToStartFromHaveTheNameTheyAreGiven(t *testing.T) {
	for _, name := range []string{
		"mycar", "Gravel 8", "yes", "null", "1e3", "0x10", "2026-11-25", "a", "a: b", "a # b", "'", `"`, `\`, "-", "- x", "{x}", "&a", "*a", "!a",
		"%a", "@a", "`", "Über", "автомобиль", "a\tb", "~", "false", "off", "n", ".inf", "on the road",
	} {
		t.Run(name, func(t *testing.T) {
			car, bench, suite := read(t, name)
			assert.Equal(t, name, car.Name)
			assert.Equal(t, name+" bench", bench.Name)
			assert.Equal(t, "first checks of "+name, suite.Name)
		})
	}
}

// The new car has Bramble's measures and asks what Bramble's owner asks, but for what it proposes to add.
func TestTheCarToStartFromIsBramble(t *testing.T) {
	bramble, err := file.ParseCar(language.Source{Path: demo.CarPath, Data: demo.CarYAML})
	require.NoError(t, err)
	car, _, _ := read(t, "mycar")
	asked := bramble.Policy
	asked.LongestGap, asked.GainLost, asked.SequenceFrozen, asked.StartWaitsFor, asked.BadPulse = nil, nil, nil, nil, 0
	assert.Equal(t, asked, car.Policy)
	_, text, _ := strings.Cut(string(demo.New("mycar")[0].Data), "policy:")
	for _, key := range []string{"longest_gap", "gain_lost", "sequence_frozen", "start_waits_for", "bad_pulse"} {
		assert.Contains(t, text, "#   "+key+": ", "it is proposed")
	}
	assert.Equal(t, bramble.Car.Mass, car.Car.Mass)
	assert.Equal(t, bramble.Car.WheelRadius, car.Car.WheelRadius)
	assert.InDelta(t, bramble.Car.FrontAxle+bramble.Car.RearAxle, car.Car.FrontAxle+car.Car.RearAxle, 1e-12)
	assert.Equal(t, bramble.Car.FrontTrack, car.Car.FrontTrack)
	assert.InDelta(t, bramble.Car.Steering.Line().Slope, car.Car.Steering.Line().Slope, 1e-9)
}

// The bench has Bramble's wires, so that the built-in board understands them.
func TestTheBenchToStartFromIsBrambles(t *testing.T) {
	bramble, err := file.ParseBench(language.Source{Path: demo.BenchPath, Data: demo.BenchYAML})
	require.NoError(t, err)
	_, bench, _ := read(t, "mycar")
	assert.Equal(t, bramble.Wiring, bench.Wiring)
	assert.Equal(t, bramble.Board, bench.Board)
	assert.Equal(t, bramble.Power, bench.Power)
}

// The stand to start from is Bramble's without what a builder need not have.
func TestTheStandToStartFromIsBrambles(t *testing.T) {
	bramble, err := file.ParseStand(language.Source{Path: demo.StandPath, Data: demo.StandYAML}, nil)
	require.NoError(t, err)
	for _, name := range []string{"mycar", "yes", "a: b", "Über"} {
		f := demo.NewStand(name)
		stand, err := file.ParseStand(language.Source{Path: f.Name, Data: f.Data}, nil)
		require.NoError(t, err)
		assert.Equal(t, "stand.yaml", f.Name)
		assert.Equal(t, name+" stand", stand.Name)
		assert.Equal(t, bramble.Throttle, stand.Throttle)
		assert.Nil(t, stand.SpinUp.Inertia)
		assert.Equal(t, bramble.SpinUp.Encoder, stand.SpinUp.Encoder)
		assert.Equal(t, bramble.Disc, stand.Disc)
		assert.Equal(t, bramble.Plan.Levels, stand.Plan.Levels)
		for i := range stand.Held {
			assert.Equal(t, bramble.Held[i].Speed, stand.Held[i].Speed)
		}
		assert.Empty(t, file.LintStand(stand))
	}
}

// A key that stands behind a # is used by taking that sign away, and nothing more.
func TestKeysOfTheStandBehindASignAreKeys(t *testing.T) {
	lines := strings.Split(string(demo.NewStand("any").Data), "\n")
	keys := 0
	for i, line := range lines {
		rest, ok := strings.CutPrefix(strings.TrimSpace(line), "# ")
		if key, _, found := strings.Cut(rest, ": "); !ok || !found || !strings.HasPrefix(line, "  ") || strings.ContainsAny(key, " ,.") {
			continue
		}
		keys++
		one := slices.Clone(lines)
		one[i] = strings.Replace(line, "# ", "", 1)
		_, err := file.ParseStand(language.Source{Path: "stand.yaml", Data: []byte(strings.Join(one, "\n"))}, nil)
		assert.NoError(t, err)
	}
	assert.Equal(t, 5, keys)
}

// Comments promise which values hilrig works out by itself.
func TestWhatIsGuessedIsNamedInTheFile(t *testing.T) {
	car, _, _ := read(t, "mycar")
	var keys []string
	for _, g := range car.Guessed {
		keys = append(keys, g.Key)
	}
	text := strings.Join(strings.Fields(strings.ReplaceAll(string(demo.New("mycar")[0].Data), "#", " ")), " ")
	assert.Contains(t, text, "guessed: "+strings.Join(keys, ", ")+".")
}

// Every value that is somebody else's is marked.
func TestEveryValueToReplaceIsMarked(t *testing.T) {
	for _, f := range append(demo.New("mycar")[:2], demo.NewStand("mycar")) {
		for i, line := range strings.Split(string(f.Data), "\n") {
			value, comment, _ := strings.Cut(line, "#")
			if strings.ContainsAny(value, "0123456789") && !strings.Contains(value, "yaw_rate, as:") &&
				!strings.Contains(value, "bytes:") && !strings.Contains(value, "check:") && !strings.Contains(value, "sequence:") {
				assert.Contains(t, comment, "guessed", "%s:%d: %s", f.Name, i+1, line)
			}
		}
	}
}

// A key that is left out stands there as a comment: it holds once its # is taken away.
func TestWhatIsLeftOutHoldsOnceItsSignIsTakenAway(t *testing.T) {
	leftOut := regexp.MustCompile(`(?m)^( *)# ([a-z_]+: .*\S # .*)$`)
	for _, tt := range []struct {
		file  demo.File
		keys  int
		parse func(language.Source) error
	}{
		{demo.NewStand("mycar"), 5, func(s language.Source) error { _, err := file.ParseStand(s, nil); return err }},
		{demo.New("mycar")[1], 2, func(s language.Source) error { _, err := file.ParseBench(s); return err }},
	} {
		found := leftOut.FindAllSubmatchIndex(tt.file.Data, -1)
		assert.Len(t, found, tt.keys, tt.file.Name)
		for _, at := range found {
			line := string(tt.file.Data[at[2]:at[3]]) + string(tt.file.Data[at[4]:at[5]])
			text := string(tt.file.Data[:at[0]]) + line + string(tt.file.Data[at[1]:])
			assert.NoError(t, tt.parse(language.Source{Path: tt.file.Name, Data: []byte(text)}), line)
		}
	}
}
