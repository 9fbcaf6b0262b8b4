package setup_test

import (
	"errors"
	"io/fs"
	"os"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"hilrig/suites"
	"hilrig/suites/demo"
	"hilrig/suites/setup"
	"hilrig/suites/standard"
)

// files are files by path; one whose content is "!" cannot be read.
type files map[string]string

func (f files) Find(path string) ([]byte, bool, error) {
	text, ok := f[path]
	if text == "!" {
		return nil, false, &fs.PathError{Op: "open", Path: path, Err: fs.ErrPermission}
	}
	return []byte(text), ok, nil
}

// disk has a folder with a setup file, a folder without, and a setup file where one works.
var disk = files{
	"hilrig.yaml": "setup: here\ncar: c.yaml\nbench: sub/b.yaml\nsuites: [split, s.yaml]\nstand: st.yaml\n",
	"c.yaml":      "", "sub/b.yaml": "", "s.yaml": "", "st.yaml": "",
	"one/hilrig.yaml": "setup: one\ncar: c.yaml\nbench: ../sub/b.yaml\n", "one/c.yaml": "", "one/car.yaml": "",
	"two/car.yaml": "", "two/bench.yaml": "", "two/suite.yaml": "", "two/stand.yaml": "",
}

func TestWhatIsTypedGoesFirst(t *testing.T) {
	for name, test := range map[string]struct {
		typed      setup.Typed
		car, bench string
		suites     []string
		taken      []string
	}{
		"nothing":                 {setup.Typed{}, "c.yaml", "sub/b.yaml", []string{"split", "s.yaml"}, []string{"from hilrig.yaml: car c.yaml; bench sub/b.yaml; suites split, s.yaml"}},
		"a suite":                 {setup.Typed{Names: []string{"demand"}}, "c.yaml", "sub/b.yaml", []string{"demand"}, []string{"from hilrig.yaml: car c.yaml; bench sub/b.yaml"}},
		"a car":                   {setup.Typed{Car: "x.yaml"}, "x.yaml", "sub/b.yaml", []string{"split", "s.yaml"}, []string{"from hilrig.yaml: bench sub/b.yaml; suites split, s.yaml"}},
		"all":                     {setup.Typed{Car: "x.yaml", Bench: "y.yaml", Names: []string{"z.yaml"}}, "x.yaml", "y.yaml", []string{"z.yaml"}, nil},
		"no suites are played":    {setup.Typed{NoSuites: true}, "c.yaml", "sub/b.yaml", nil, []string{"from hilrig.yaml: car c.yaml; bench sub/b.yaml"}},
		"a folder":                {setup.Typed{Names: []string{"one"}}, "one/c.yaml", "sub/b.yaml", nil, []string{"from one/hilrig.yaml: car one/c.yaml; bench sub/b.yaml"}},
		"a folder without a file": {setup.Typed{Names: []string{"two/"}}, "two/car.yaml", "two/bench.yaml", []string{"two/suite.yaml"}, []string{"from two/: car two/car.yaml; bench two/bench.yaml; suites two/suite.yaml"}},
		"a folder and a suite":    {setup.Typed{Names: []string{"split", "two"}}, "two/car.yaml", "two/bench.yaml", []string{"split", "two/suite.yaml"}, []string{"from two: car two/car.yaml; bench two/bench.yaml; suites two/suite.yaml"}},
		"a folder and a car":      {setup.Typed{Car: "x.yaml", Names: []string{"two"}}, "x.yaml", "two/bench.yaml", []string{"two/suite.yaml"}, []string{"from two: bench two/bench.yaml; suites two/suite.yaml"}},
		"a folder as a car":       {setup.Typed{Car: "two", Bench: "one", Names: []string{"split"}}, "two/car.yaml", "sub/b.yaml", []string{"split"}, nil},
	} {
		found, err := setup.Find(test.typed, disk)
		require.NoError(t, err, name)
		assert.Equal(t, []any{test.car, test.bench, test.suites, test.taken}, []any{found.Car, found.Bench, found.Suites, found.Taken}, name)
	}
	found, err := setup.Find(setup.Typed{Names: []string{"mine", "hil rig"}}, files{})
	require.NoError(t, err)
	assert.Equal(t, &setup.Found{Suites: []string{"mine", "hil rig"}}, found, "whoever reads them says that they are not there")
}

func TestWhatIsGivenToBeLookedInto(t *testing.T) {
	for _, test := range []struct{ typed, want []string }{
		{nil, []string{"hilrig.yaml", "c.yaml", "sub/b.yaml", "s.yaml", "st.yaml"}},
		{[]string{"s.yaml", "demand"}, []string{"s.yaml", "demand"}},
		{[]string{"two"}, []string{"two/car.yaml", "two/bench.yaml", "two/stand.yaml", "two/suite.yaml"}},
		{[]string{"s.yaml", "two"}, []string{"s.yaml", "two/car.yaml", "two/bench.yaml", "two/stand.yaml", "two/suite.yaml"}},
	} {
		found, err := setup.Find(setup.Typed{Names: test.typed}, disk)
		require.NoError(t, err)
		assert.Equal(t, test.want, found.Given(test.typed))
	}
}

func TestMistakesOfASetup(t *testing.T) {
	for name, test := range map[string]struct {
		typed setup.Typed
		disk  files
		says  string
	}{
		"two folders":      {setup.Typed{Names: []string{"one", "two"}}, disk, "one and two each stand for a car; name one of them"},
		"no folder":        {setup.Typed{Names: []string{"three"}, NoSuites: true}, disk, "three is no folder with a hilrig.yaml, or with a car.yaml and a bench.yaml; hilrig new three makes one"},
		"a key":            {setup.Typed{}, files{"hilrig.yaml": "setup: x\ncra: y.yaml\n"}, `hilrig.yaml:2:1: key "cra" is not known in a setup file; use car`},
		"a missing file":   {setup.Typed{Names: []string{"a"}}, files{"a/hilrig.yaml": "setup: x\ncar: c.yaml\nbench: b.yaml\n", "a/c.yaml": ""}, "a/hilrig.yaml:3:8: bench: a/b.yaml is not there; name a file from the folder of hilrig.yaml"},
		"a closed file":    {setup.Typed{}, files{"hilrig.yaml": "setup: x\ncar: c.yaml\nbench: c.yaml\nsuites: c.yaml", "c.yaml": "!"}, "hilrig.yaml:4:9: suites: c.yaml cannot be read: permission denied"},
		"a suite's name":   {setup.Typed{}, files{"hilrig.yaml": "setup: x\ncar: c.yaml\nbench: c.yaml\nsuites: spilt", "c.yaml": ""}, "hilrig.yaml:4:9: suites: spilt is not there; name a suite file from the folder of hilrig.yaml, or a standard suite: use split"},
		"another ending":   {setup.Typed{}, files{"hilrig.yaml": "setup: x\ncar: sub/c.yaml\nbench: b.yaml\n", "sub/c.yml": "", "b.yaml": ""}, "hilrig.yaml:2:6: car: sub/c.yaml is not there; write sub/c.yml, which is"},
		"backslashes":      {setup.Typed{}, files{"hilrig.yaml": "setup: x\ncar: .\\sub\\c.yaml\nbench: b.yaml\n", "sub/c.yaml": "", "b.yaml": ""}, `is not there; write sub/c.yaml, which is`},
		"a slip":           {setup.Typed{}, files{"hilrig.yaml": "setup: x\ncar: carr.yaml\nbench: b.yaml\n", "car.yaml": "", "b.yaml": ""}, "hilrig.yaml:2:6: car: carr.yaml is not there; write car.yaml, which is"},
		"a suite beside":   {setup.Typed{}, files{"hilrig.yaml": "setup: x\ncar: b.yaml\nbench: b.yaml\nsuites: spilt", "suite.yaml": "", "b.yaml": ""}, "use split"},
		"a closed setup":   {setup.Typed{}, files{"hilrig.yaml": "!"}, "permission denied"},
		"a folder's setup": {setup.Typed{Car: "a"}, files{"a/hilrig.yaml": "!"}, "permission denied"},
	} {
		_, err := setup.Find(test.typed, test.disk)
		assert.ErrorContains(t, err, test.says, name)
	}
}

func TestTheStandThatIsMeant(t *testing.T) {
	for _, test := range []struct {
		typed []string
		want  string
	}{{nil, "st.yaml"}, {[]string{"two"}, "two/stand.yaml"}, {[]string{"x.yaml"}, "x.yaml"}, {[]string{"nowhere"}, "nowhere"}} {
		path, err := setup.Stand(test.typed, disk)
		require.NoError(t, err)
		assert.Equal(t, test.want, path)
	}
	_, err := setup.Stand([]string{"one"}, disk)
	assert.EqualError(t, err, "one/hilrig.yaml names no stand; hilrig new --stand one makes one")
	path, err := setup.Stand(nil, files{})
	assert.NoError(t, err)
	assert.Empty(t, path)
}

// The setup to start from names the files that are made beside it.
func TestTheSetupToStartFrom(t *testing.T) {
	made := files{}
	for _, f := range append(demo.New("mycar"), demo.NewSetup("mycar")) {
		made[f.Name] = string(f.Data)
	}
	found, err := setup.Find(setup.Typed{}, made)
	require.NoError(t, err)
	assert.Equal(t, []string{"hilrig.yaml", "car.yaml", "bench.yaml", "suite.yaml"}, found.Files)
}

// reader reads files, and logs as they are.
type reader struct{ files }

func (r reader) Read(path string) ([]byte, error) {
	data, ok, err := r.Find(path)
	if err == nil && !ok {
		err = &fs.PathError{Op: "open", Path: path, Err: errors.New("no such file")}
	}
	return data, err
}

func (r reader) ReadLog(path string) ([]byte, error) { return r.Read(path) }

func TestFilesAreRead(t *testing.T) {
	of, err := setup.Read(suites.Files{Board: "built-in/moment"}, "", "sub/b.yaml", []string{"split", "s.yaml"}, reader{disk})
	require.NoError(t, err)
	assert.Equal(t, []string{"demo/thistle.yaml", "sub/b.yaml", "standard/split.yaml", "s.yaml"}, []string{of.Car.Path, of.Bench.Path, of.Suites[0].Path, of.Suites[1].Path})
	for name, says := range map[string]string{
		"spilt": `suite "spilt" is not known; use split`,
		"mine":  `suite "mine" is not known; use ` + strings.Join(append(standard.Names(), standard.Soak), ", ") + `, the path of a YAML file, or a folder that hilrig new made`,
		"x.yml": "open x.yml: no such file",
	} {
		_, err := setup.Read(suites.Files{}, "", "", []string{name}, reader{disk})
		assert.EqualError(t, err, says)
	}
	_, err = setup.Read(suites.Files{}, "x.yaml", "", nil, reader{disk})
	assert.EqualError(t, err, "--car: open x.yaml: no such file")
}

// What is not known is held against what lies in the working folder too.
func TestAFolderOrFileHereMayBeMeant(t *testing.T) {
	t.Chdir(t.TempDir())
	require.NoError(t, os.MkdirAll("mycar", 0o700))
	require.NoError(t, os.MkdirAll("notes", 0o700))
	require.NoError(t, os.WriteFile("mycar/hilrig.yaml", nil, 0o600))
	require.NoError(t, os.WriteFile("braking.yaml", nil, 0o600))
	for name, says := range map[string]string{
		"mycra":    `suite "mycra" is not known; use mycar`,
		"braking":  `suite "braking" is not known; use braking.yaml`,
		"breaking": `suite "breaking" is not known; use ` + strings.Join(append(standard.Names(), standard.Soak), ", ") + `, the path of a YAML file, or a folder that hilrig new made`,
		"notes":    "notes is no folder with a hilrig.yaml, or with a car.yaml and a bench.yaml; hilrig new notes makes one",
	} {
		_, err := setup.Read(suites.Files{}, "", "", []string{name}, reader{disk})
		assert.EqualError(t, err, says)
	}
}
