package pages

import (
	"bytes"
	"flag"
	"fmt"
	"io"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"testing"
)

var program = flag.String("program", "", "take this test program of cmd/hilrig, whose name is hilrig, instead of building it")

// maker makes pages by a program of the tests of cmd/hilrig, which is hilrig on a clock of its own: a run
// in real time in memory takes as long as it has to do there, and comes out the same on every machine.
type maker struct {
	program, home string
	inputs        string // the suites of this folder
	bench         string // a bench whose motors are powered
}

// stopPin is the bench's stop input, which is closed in the bank in which its motors are powered.
const stopPin = 17

// newMaker builds the program.
func newMaker(t *testing.T) *maker {
	t.Helper()
	home := t.TempDir()
	at := func(path string) string {
		whole, err := filepath.Abs(path)
		must(t, err)
		return whole
	}
	m := &maker{program: filepath.Join(home, "bin", "hilrig"), home: home, inputs: at("testdata"), bench: at("../../cmd/hilrig/testdata/kill/bench.yaml")}
	if *program != "" {
		m.program = at(*program)
	} else {
		build := exec.Command("go", "test", "-c", "-vet=off", "-o", m.program, "./cmd/hilrig")
		build.Dir = at("../..")
		if out, err := build.CombinedOutput(); err != nil {
			t.Fatalf("the program is not built: %v\n%s", err, out)
		}
	}
	must(t, os.WriteFile(filepath.Join(home, "powered"), []byte{2: 1 << (stopPin - 16), 3: 0}, 0o600))
	must(t, os.Mkdir(filepath.Join(home, "locks"), 0o700))
	return m
}

// command returns hilrig with arguments, in the maker's folder.
func (m *maker) command(name string, args ...string) *exec.Cmd {
	c := exec.Command(name, args...)
	c.Dir = m.home
	c.Env = append(os.Environ(), "XDG_STATE_HOME="+m.home, "HILRIG_TEST_LOCKS="+filepath.Join(m.home, "locks"), "HILRIG_TEST_TURNS=tried="+m.bench)
	return c
}

// ends runs hilrig and holds it to its exit status.
func (m *maker) ends(t *testing.T, status int, args ...string) {
	t.Helper()
	out, err := m.command(m.program, args...).CombinedOutput()
	m.held(t, status, err, out, args)
}

// held fails where a program did not end with that status.
func (m *maker) held(t *testing.T, status int, err error, out []byte, args []string) {
	t.Helper()
	got := 0
	if e := new(exec.ExitError); asExit(err, &e) {
		got = e.ExitCode()
	} else {
		must(t, err)
	}
	if got != status {
		t.Fatalf("hilrig %s ends with %d, not with %d:\n%s", strings.Join(args, " "), got, status, out)
	}
}

// confirmed does so with a terminal at which a person answers yes to each question.
func (m *maker) confirmed(t *testing.T, status int, args ...string) {
	t.Helper()
	line := m.program + " " + strings.Join(args, " ")
	c := m.command("script", "--quiet", "--return", "--command", line, "/dev/null")
	answers, err := c.StdinPipe()
	must(t, err)
	said, err := c.StdoutPipe()
	must(t, err)
	must(t, c.Start())
	var all bytes.Buffer
	part := make([]byte, 4096)
	for asked := 0; ; {
		n, err := said.Read(part)
		all.Write(part[:n])
		for ; asked < strings.Count(all.String(), "anything else to stop:"); asked++ {
			_, err := io.WriteString(answers, "yes\n")
			must(t, err)
		}
		if err != nil {
			break
		}
	}
	m.held(t, status, c.Wait(), all.Bytes(), args)
}

// page is what a browser is to open, with what it has to find there.
type page struct {
	name     string
	outcome  string
	says     string // is somewhere in its text
	notWhole bool   // that the record is not whole stands across its top
	folds    bool   // parts of it are folded as it is opened
}

// make makes all pages.
func (m *maker) make(t *testing.T) (pages []page) {
	t.Helper()
	add := func(name, outcome, says string) {
		pages = append(pages, page{name: name, outcome: outcome, says: says})
	}
	each, live := filepath.Join(m.inputs, "each.yaml"), filepath.Join(m.inputs, "live.yaml")

	m.ends(t, 0, "run", each, "--record", "go", "--html", "go.html")
	add("go", "GO", "Sweep of the yaw rate")
	m.ends(t, 1, "run", each, "--only", "from one", "--board", "built-in:yaw_sign", "--record", "no-go", "--html", "no-go.html")
	add("no-go", "NO-GO", "Played again from the record")
	pages[len(pages)-1].folds = true
	m.ends(t, 0, "run", live, "--bank", "memory:bank", "--attended=no", "--record", "real-time", "--html", "real-time.html")
	add("real-time", "GO", "This program is no safety device")
	m.confirmed(t, 1, "run", live, "--board", "built-in:yaw_sign", "--bank", "memory:powered", "--bench", m.bench, "--record", "motors", "--html", "motors.html")
	add("motors", "NO-GO", "The motors were powered (wheels_off_ground). Keep hands, hair and cables away")

	m.ends(t, 0, "esc", "--record", "stand")
	m.ends(t, 0, "report", m.record(t, "stand"), "--html", "stand.html")
	add("stand", "GO", "Figures")

	m.ends(t, 0, "run", each, "--only", "from one", "--record", "before") // not all of it was played
	m.ends(t, 1, "compare", m.record(t, "before"), m.record(t, "no-go"), "--html", "compared.html")
	add("compared", "WORSE", "newly failing")
	m.ends(t, 1, "run", each, "losses", "--board", "built-in:yaw_sign", "--record", "long", "--html", "long.html")
	add("long", "NO-GO", "Pictures")
	pages[len(pages)-1].folds = true

	for _, damage := range damages {
		folder := damage.name
		must(t, os.CopyFS(filepath.Join(m.home, folder), os.DirFS(m.record(t, "real-time"))))
		must(t, damage.do(filepath.Join(m.home, folder)))
		m.ends(t, 2, "report", folder, "--html", folder+".html")
		pages = append(pages, page{name: folder, outcome: "NOT SHOWN", says: damage.says, notWhole: true})
	}
	return pages
}

// record returns the one record in a folder.
func (m *maker) record(t *testing.T, home string) string {
	t.Helper()
	found, err := filepath.Glob(filepath.Join(m.home, home, "*"))
	must(t, err)
	if len(found) != 1 {
		t.Fatalf("%s holds %d records", home, len(found))
	}
	return found[0]
}

// damages are ways in which a record is not whole.
var damages = []struct {
	name, says string
	do         func(folder string) error
}{
	{"not-ended", "the run did not end", func(folder string) error {
		return removed(folder, "result.json", "SHA256SUMS", "host.json")
	}},
	{"cut-short", "cases.jsonl", func(folder string) error {
		return changed(folder, "cases.jsonl", func(data []byte) []byte { return data[:len(data)/2] })
	}},
	{"tampered", "result.json is not what its digest says", func(folder string) error {
		return changed(folder, "result.json", func(data []byte) []byte {
			return bytes.Replace(data, []byte(`"limit_low": 1`), []byte(`"limit_low": 0`), 1)
		})
	}},
}

// removed removes files of a record.
func removed(folder string, names ...string) error {
	for _, name := range names {
		if err := os.Remove(filepath.Join(folder, name)); err != nil {
			return err
		}
	}
	return nil
}

// changed writes a file of a record otherwise.
func changed(folder, name string, by func(data []byte) []byte) error {
	path := filepath.Join(folder, name)
	data, err := os.ReadFile(path)
	if err != nil {
		return err
	}
	other := by(data)
	if bytes.Equal(other, data) {
		return fmt.Errorf("%s is as it was", path)
	}
	return os.WriteFile(path, other, 0o600)
}
