package file_test

import (
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"hilrig/suites/file"
	"hilrig/suites/language"
)

// bomb returns a file of n lists, each ten times the one before.
func bomb(n int) string {
	var b strings.Builder
	b.WriteString("suite: s\nx0: &x0 [1, 1, 1, 1, 1, 1, 1, 1, 1, 1]\n")
	for i := 1; i < n; i++ {
		before, name := string(rune('a'+i-1)), string(rune('a'+i))
		if i == 1 {
			before = "x0"
		}
		b.WriteString(name + ": &" + name + " [" + strings.TrimSuffix(strings.Repeat("*"+before+", ", 10), ", ") + "]\n")
	}
	return b.String()
}

func TestFilesThatNoParserShouldSee(t *testing.T) {
	tests := []struct {
		name string
		data string
		want string // what a message begins with
	}{
		{"empty", "", "s.yaml:1:1: the file is empty; begin it with suite: NAME"},
		{"comment alone", "# nothing\n", "s.yaml:1:1: the file is empty"},
		{"50 MB", strings.Repeat("a: 1\n", 10<<20), "s.yaml:1:1: the file has 52428800 bytes, more than 524288"},
		{"many values", "a: [" + strings.Repeat("1,", 100000) + "]", "s.yaml:1:1: the file has 200004 values and marks, more than 60000"},
		{"alias bomb", bomb(9), "s.yaml:6:7: aliases make the file too large"},
		{"alias of itself", "suite: &a [*a]", `s.yaml:1:12: alias "a" has no anchor before it`},
		{"brackets", "a: " + strings.Repeat("[", 100000), "s.yaml:1:1: the file has 100002 values"},
		{"fewer brackets", "a: " + strings.Repeat("[", 10000), "s.yaml:1:28: values are nested more than 24 deep"},
		{"dashes", strings.Repeat("- ", 10000), "s.yaml:1:49: values are nested more than 24 deep"},
		{"indentation", indented(200), "s.yaml:26:26: values are nested more than 24 deep"},
		{"binary", "suite: s\nab\x00cd", "s.yaml:2:3: byte 0x00 is not text"},
		{"Latin-1", "suite: s\ncases: \xe4", "s.yaml:2:8: byte 0xe4 is not text"},
		{"byte order mark within", "suite: \ufeffs", "s.yaml:1:8: byte 0xef is not text"},
		{"old line ends", "suite: s\rcases: []\r", "s.yaml:1:1: a line ends in a carriage return alone"},
		{"tab", "suite: s\ncases:\n\t- case: a\n", "s.yaml:3:1: the line is indented with a tab; indent with spaces"},
		{"two documents", "suite: s\n---\nsuite: t\n", "s.yaml:2:1: the file holds more than one document"},
		{"a list", "- suite: s\n", "s.yaml:1:1: the file holds a list where keys with values are expected; begin with a line like suite: NAME"},
		{"text", "hello\n", "s.yaml:1:1: the file holds a single value where keys"},
		{"merge key", "suite: s\n<<: {cases: []}\n", "s.yaml:2:1: merge key << is not read"},
		{"tag", "suite: !!str s\n", `s.yaml:1:8: tag "!!str" has no meaning here; leave it out`},
		{"a list as key", "suite: s\n? [a]\n: 1\n", "s.yaml:3:1: not readable as YAML: found an invalid key for this map"},
		{"open bracket", "suite: [s\n", "s.yaml:1:8: a bracket [ is opened here and not closed; close it with ]"},
		{"open quote", "suite: 's\n", "s.yaml:1:8: a quote ' is opened here and not closed; close it, or leave it out"},
		{"reserved character", "suite: @s\n", "s.yaml:1:8: not readable as YAML: '@' is a reserved character; put the text in quotes"},
		{"another kind of file", "car: s\n", "s.yaml:1:1: this is a car file where a suite file is expected"},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			_, err := file.ParseSuite(language.Source{Path: "s.yaml", Data: []byte(tt.data)}, nil, nil)
			require.Error(t, err)
			assert.Contains(t, "\n"+err.Error(), "\n"+tt.want)
		})
	}
}

// indented returns n tables, one in the other.
func indented(n int) string {
	var b strings.Builder
	for i := range n {
		b.WriteString(strings.Repeat(" ", i) + "a:\n")
	}
	return b.String()
}

func TestLongListsOfEachAreRefused(t *testing.T) {
	var speeds []string
	for i := range 100 {
		speeds = append(speeds, "0."+strings.Repeat("0", i)+"1 m/s")
	}
	list := "[" + strings.Join(speeds, ", ") + "]"
	data := "suite: s\ndefaults: {throttle: 1 %, gain: 1 %}\ncases:\n  - case: a\n    each: {speed: " + list + ", steer: " + strings.ReplaceAll(list, "m/s", "deg") + "}\n    hold: {}\n    expect: [{policy: cap}]\n"
	_, err := file.ParseSuite(language.Source{Path: "s.yaml", Data: []byte(data)}, nil, nil)
	require.Error(t, err)
	assert.Contains(t, err.Error(), "s.yaml:4:5: the suite has more than 5000 cases once it is expanded")
}

func TestWindowsLineEndsAndMarkAreRead(t *testing.T) {
	car, bench := bramble(t)
	data := "\ufeffsuite: s\r\ndefaults: {speed: 4 m/s, throttle: 1 %, gain: 1 %}\r\ncases:\r\n  - case: a\r\n    hold: {}\r\n    expect: [{policy: cap}]\r\n"
	s, err := file.ParseSuite(language.Source{Path: "s.yaml", Data: []byte(data)}, car, bench)
	require.NoError(t, err)
	assert.Equal(t, "a", s.Cases[0].Name)
	assert.Equal(t, 4, s.Cases[0].Place.Line)
	assert.Equal(t, "  1 | suite: s", s.Source.Excerpt(1, 1))
}

func TestExcerptOfALongLineShowsThePlace(t *testing.T) {
	data := "suite: s\nabout: " + strings.Repeat("long ", 100) + "\ncases: {a: [" + strings.Repeat("1, ", 200) + "@]}\n"
	_, err := file.ParseSuite(language.Source{Path: "s.yaml", Data: []byte(data)}, nil, nil)
	problems, ok := err.(language.Problems)
	require.True(t, ok)
	lines := strings.Split(problems[0].Excerpt, "\n")
	require.Len(t, lines, 2)
	assert.Less(t, len(lines[0]), 140)
	caret := strings.IndexByte(lines[1], '^')
	assert.Equal(t, byte('@'), lines[0][caret])
}

func TestExcerptShowsTheLinesAsked(t *testing.T) {
	s := language.Source{Data: []byte("a\nb\n\td\n")}
	assert.Equal(t, "  1 | a\n  2 | b", s.Excerpt(0, 2))
	assert.Equal(t, "  3 |  d", s.Excerpt(3, 9))
	assert.Empty(t, s.Excerpt(8, 9))
}
