package file_test

import (
	"flag"
	"fmt"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"hilrig/suites/file"
	"hilrig/suites/language"
)

var update = flag.Bool("update", false, "accept the messages as they are")

// parse reads a file by what its first key says it is.
func parse(t testing.TB, s language.Source) error {
	t.Helper()
	car, bench := bramble(t)
	var err error
	switch text := string(s.Data); {
	case strings.HasPrefix(text, "car:"):
		_, err = file.ParseCar(s)
	case strings.HasPrefix(text, "bench:"):
		_, err = file.ParseBench(s)
	case strings.HasPrefix(text, "stand:"):
		_, err = file.ParseStand(s, nil)
	case strings.HasPrefix(text, "setup:"):
		_, err = file.ParseSetup(s)
	case strings.HasPrefix(text, "faults:"):
		_, err = file.ParseFaults(s)
	default:
		_, err = file.ParseSuite(s, car, bench)
	}
	return err
}

// Every file of testdata is wrong in as many places as its marks "# !" say,
// and the messages are those of its golden file.
func TestMessagesAreThoseOfTheGoldenFiles(t *testing.T) {
	names, err := filepath.Glob("testdata/*.yaml")
	require.NoError(t, err)
	require.NotEmpty(t, names)
	for _, name := range names {
		t.Run(filepath.Base(name), func(t *testing.T) {
			data, err := os.ReadFile(name)
			require.NoError(t, err)
			problems, ok := parse(t, language.Source{Path: filepath.Base(name), Data: data}).(language.Problems)
			require.True(t, ok, "the file is wrong and says so")
			marked := map[int]bool{}
			for i, line := range strings.Split(string(data), "\n") {
				if strings.Contains(line, "# !") {
					marked[i+1] = true
				}
			}
			for _, p := range problems {
				assert.True(t, marked[p.Line], "not marked as wrong: %v", p.Error())
			}
			for line := range marked {
				assert.True(t, on(problems, line), "line %d is marked as wrong, and no problem stands there", line)
			}
			golden := strings.TrimSuffix(name, ".yaml") + ".golden"
			if *update {
				require.NoError(t, os.WriteFile(golden, []byte(problems.Error()+"\n"), 0o644))
			}
			want, err := os.ReadFile(golden)
			require.NoError(t, err)
			assert.Equal(t, string(want), problems.Error()+"\n")
		})
	}
}

func on(problems language.Problems, line int) bool {
	for _, p := range problems {
		if p.Line == line {
			return true
		}
	}
	return false
}

func TestProblemsSayHowManyMoreThereAre(t *testing.T) {
	data := "suite: s\n" + strings.Repeat("defaults: {}\n", 60) + "cases: []\n"
	_, err := file.ParseSuite(language.Source{Path: "s.yaml", Data: []byte(data)}, nil, nil)
	require.Error(t, err)
	assert.Len(t, err, 60)
	assert.Equal(t, `s.yaml:3:1: key "defaults" stands twice, first on line 2; leave one out
  3 | defaults: {}
    | ^
the same 58 times more, on lines 4, 5, 6, 7, 8, 9, 10, 11, 12, 13 and further
s.yaml:62:8: the list cases is empty; write cases: [{case: turn to the left, expect: [{policy: understeer}]}]
  62 | cases: []
     |        ^`, err.Error())

	var all language.Problems
	for i := range 60 {
		all = append(all, language.Problem{Place: language.Place{File: "s.yaml", Line: i + 1, Column: 1}, Message: fmt.Sprint("no. ", i)})
	}
	assert.True(t, strings.HasSuffix(all.Error(), "s.yaml:50:1: no. 49\nand 10 more"))
	assert.Equal(t, "s.yaml:1:1: so\ns.yaml:2:1: so", language.Problems{{Place: language.Place{File: "s.yaml", Line: 1, Column: 1}, Message: "so"},
		{Place: language.Place{File: "s.yaml", Line: 2, Column: 1}, Message: "so"}}.Error())
}
