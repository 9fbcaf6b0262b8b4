package record

import (
	"io"
	"io/fs"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// full writes a record with everything that one can have, all passed.
func full(t *testing.T) string {
	t.Helper()
	r := clean()
	w := written(t, r, nil)
	require.NoError(t, w.Inputs([]Input{{Role: CarInput, Path: "car.yaml", Data: []byte("car: x\n")}}))
	require.NoError(t, w.Wires(0, 1, func(out io.Writer) error {
		_, err := io.WriteString(out, "$end\n")
		return err
	}))
	w.Moments(0, 1, nil)
	require.NoError(t, w.Form("picture.svg", []byte("<svg/>\n")))
	for i := range r.places() {
		require.NoError(t, keep(w, r, i))
	}
	require.NoError(t, w.Finish(r, 1, 2))
	got, err := Read(w.Folder())
	require.NoError(t, err)
	require.Empty(t, got.Wrong())
	require.Equal(t, Go, got.Result.Outcome)
	return w.Folder()
}

// filesOf lists the files of a record, with paths from its folder.
func filesOf(t *testing.T, folder string) (names []string) {
	t.Helper()
	require.NoError(t, filepath.WalkDir(folder, func(path string, d fs.DirEntry, err error) error {
		if err == nil && !d.IsDir() {
			name, err := filepath.Rel(folder, path)
			names = append(names, name)
			return err
		}
		return err
	}))
	return names
}

// notBelieved holds that the record in folder is refused, or is said to be wrong and shows nothing.
func notBelieved(t *testing.T, folder, what string) {
	t.Helper()
	got, err := Read(folder)
	if err != nil {
		return
	}
	require.NotEmpty(t, got.Wrong(), what)
	require.Equal(t, NotShown, got.Result.Outcome, what)
	require.NotEmpty(t, got.Result.Why, what)
}

// Whatever is lost from, cut off or changed in whichever file is noticed.
func TestEveryDamageIsNoticed(t *testing.T) {
	folder := full(t)
	names := filesOf(t, folder)
	require.Len(t, names, 10)
	for _, name := range names {
		t.Run(name, func(t *testing.T) {
			path := filepath.Join(folder, name)
			data, err := os.ReadFile(path)
			require.NoError(t, err)
			put := func(data []byte) { require.NoError(t, os.WriteFile(path, data, 0o600)) }
			step := max(1, len(data)/150)
			for n := 0; n < len(data); n += step {
				put(data[:n])
				notBelieved(t, folder, "cut short")
				flipped := append([]byte(nil), data...)
				flipped[n] ^= 1 << (n % 8)
				put(flipped)
				notBelieved(t, folder, "a bit flipped")
			}
			put(data[:len(data)-1])
			notBelieved(t, folder, "without its last byte")
			put(append(data[:len(data):len(data)], '\n'))
			notBelieved(t, folder, "longer")
			require.NoError(t, os.Remove(path))
			notBelieved(t, folder, "lost")
			require.NoError(t, os.Mkdir(path, 0o700))
			notBelieved(t, folder, "a folder")
			require.NoError(t, os.Remove(path))
			put(data)
			got, err := Read(folder)
			require.NoError(t, err)
			assert.Empty(t, got.Wrong())
		})
	}
}

func TestWhatIsWrongWithAFileIsSaid(t *testing.T) {
	for _, test := range []struct {
		name, file, text, want string
	}{
		{"changed", "plan.json", "{}", "plan.json is not what its digest says"},
		{"put in", "wires/0-0.vcd.gz", "x", "wires/0-0.vcd.gz has no digest in SHA256SUMS"},
		{"moments put in", "moments/0-0.json.gz", "x", "moments/0-0.json.gz has no digest in SHA256SUMS"},
		{"put in beside others", "forms/x.svg", "x", "forms/x.svg has no digest in SHA256SUMS"},
		{"lost", "inputs/0", "", "inputs/0 is missing"},
		{"no digests", "SHA256SUMS", "", "there is no SHA256SUMS, so that nothing shows whether the files are as they were written: it was lost, or the record is older than digests of files"},
		{"no digest", "SHA256SUMS", "\n", "line 1 of SHA256SUMS cannot be read"},
	} {
		t.Run(test.name, func(t *testing.T) {
			folder := full(t)
			path := filepath.Join(folder, test.file)
			if test.text == "" {
				require.NoError(t, os.Remove(path))
			} else {
				require.NoError(t, os.WriteFile(path, []byte(test.text), 0o600))
			}
			got, err := Read(folder)
			require.NoError(t, err)
			assert.True(t, got.Ended)
			require.NotEmpty(t, got.Wrong())
			assert.Equal(t, test.want, got.Wrong()[0])
			assert.Equal(t, test.want, got.Result.Why)
		})
	}
}

func TestSumsNameNothingOutsideTheRecord(t *testing.T) {
	const digest = "e3b0c44298fc1c149afbf4c8996fb92427ae41e4649b934ca495991b7852b855"
	sums, bad := parseSums([]byte(digest + "  ../x\n" + digest + "  /etc/x\n" + digest + "  a/b\n" + digest + "  a/b\n" + digest + " *c\n"))
	assert.Equal(t, map[string]string{"a/b": digest}, sums)
	assert.Equal(t, []int{1, 2, 4, 5}, bad)
	_, bad = parseSums([]byte(digest + "  a"))
	assert.Equal(t, []int{1}, bad, "cut short")
}

// An outcome that its own checks do not come to is not believed, though its digest is right.
func TestOutcomeThatDoesNotFollowIsNotBelieved(t *testing.T) {
	r := sample()
	r.Seal()
	require.Equal(t, NoGo, r.Outcome)
	r.Outcome, r.Digest = Go, ""
	r.Digest = sumOf(r.compact())
	require.True(t, intact(r.JSON(), r.Digest))
	got, err := rebuild(planned(r).JSON(), nil, nil, r.JSON())
	require.NoError(t, err)
	assert.False(t, got.Ended)
	assert.Equal(t, NotShown, got.Result.Outcome)
}

// The digests as another program checks them.
func TestSumsAreThoseOfAnotherProgram(t *testing.T) {
	program, err := exec.LookPath("sha256sum")
	if err != nil && os.Getenv("CI") != "true" {
		t.Skip("there is no sha256sum of GNU coreutils")
	}
	require.NoError(t, err)
	folder := full(t)
	check := exec.Command(program, "--check", "--strict", "SHA256SUMS")
	check.Dir = folder
	out, err := check.CombinedOutput()
	require.NoError(t, err, "%s", out)
	assert.Equal(t, len(filesOf(t, folder))-1, strings.Count(string(out), ": OK\n"))
}

func TestARunThatDidNotEndIsWrong(t *testing.T) {
	w := written(t, clean(), []int{0, 1})
	require.NoError(t, w.Close())
	got, err := Read(w.Folder())
	require.NoError(t, err)
	assert.Equal(t, []string{DidNotEnd}, got.Wrong())
}

// The texts of a record that was changed cannot hide on a terminal what is said of it.
func TestTextsOfAWrongRecordArePlain(t *testing.T) {
	r := clean()
	c := &r.Suites[0].Cases[0]
	c.Name = "a\x1b[2J\nGO  5 cases"
	c.Checks[0].Unit = "%\r\u009b2J"
	c.Checks[0].Excerpt = "  9 | - a\x1b\n 10 |   b"
	w := written(t, r, []int{0})
	w.Tripped("why\x1b", began)
	require.NoError(t, w.writeHost(w.host))
	require.NoError(t, w.Close())
	got, err := Read(w.Folder())
	require.NoError(t, err)
	c = &got.Result.Suites[0].Cases[0]
	assert.Equal(t, "a [2J GO  5 cases", c.Name)
	assert.Equal(t, "%  2J", c.Checks[0].Unit)
	assert.Equal(t, "  9 | - a \n 10 |   b", c.Checks[0].Excerpt)
	assert.Equal(t, "why ", got.Host.Trip.Why)
}
