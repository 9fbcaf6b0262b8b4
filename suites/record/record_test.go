package record

import (
	"bytes"
	"encoding/json"
	"fmt"
	"math"
	"os"
	"os/exec"
	"path/filepath"
	"sync"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"
)

// keep writes case i, counted over all suites.
func keep(w *Writer, r *Result, i int) error {
	return w.Case(r.spots()[i].suite, r.spots()[i].index, *r.places()[i])
}

// written makes a record of r, its cases finishing in the given order.
func written(t *testing.T, r *Result, order []int) *Writer {
	t.Helper()
	w, err := Create(t.TempDir(), r, Host{Program: "test"}, began)
	require.NoError(t, err)
	for _, i := range order {
		require.NoError(t, keep(w, r, i))
	}
	return w
}

func TestRecordComesBackAsItWasWritten(t *testing.T) {
	r := sample()
	w := written(t, r, []int{3, 0, 4, 1, 2})
	require.NoError(t, w.Finish(r, 0.5, 12))
	got, err := Read(w.Folder())
	require.NoError(t, err)
	assert.True(t, got.Ended)
	assert.Empty(t, got.Notes)
	assert.Equal(t, r, got.Result)
	assert.Equal(t, Host{Began: "2026-03-01T19:04:05+01:00", WallS: 0.5, DrivingS: 12, Program: "test"}, got.Host)
	assert.Equal(t, "2026-03-01-190405", filepath.Base(w.Folder()))
}

func TestRebuiltCasesStandInPlanOrder(t *testing.T) {
	r := sample()
	sealed := sample()
	sealed.Seal()
	home := t.TempDir()
	rapid.Check(t, func(t *rapid.T) {
		order := rapid.Permutation([]int{0, 1, 2, 3, 4}).Draw(t, "order")
		w, err := Create(filepath.Join(home, fmt.Sprint(order)), r, Host{}, began)
		require.NoError(t, err)
		for _, i := range order {
			require.NoError(t, keep(w, r, i))
		}
		require.NoError(t, w.Close())
		got, err := Read(w.Folder())
		require.NoError(t, err)
		assert.Equal(t, sealed.Suites, got.Result.Suites)
		assert.Equal(t, sealed.Counts, got.Result.Counts)
	})
}

func TestRunThatDidNotEnd(t *testing.T) {
	w := written(t, clean(), []int{0, 1})
	require.NoError(t, w.Close())
	got, err := Read(w.Folder())
	require.NoError(t, err)
	assert.False(t, got.Ended)
	assert.Equal(t, NotShown, got.Result.Outcome)
	assert.Equal(t, "the run did not end", got.Result.Why)
	assert.Equal(t, Counts{Cases: 5, Pass: 4, NotRun: 3}, got.Result.Counts)
	assert.Equal(t, began.Format("2006-01-02T15:04:05Z07:00"), got.Host.Began)
}

// A plug pulled at any moment leaves a prefix of cases.jsonl: every case whose
// line is whole is there, no other, and nothing else is wrong.
func TestPulledPlugAtEveryByte(t *testing.T) {
	r := clean()
	order := []int{2, 0, 4, 1}
	w := written(t, r, order)
	require.NoError(t, w.Close())
	plan, err := os.ReadFile(filepath.Join(w.Folder(), "plan.json"))
	require.NoError(t, err)
	cases, err := os.ReadFile(filepath.Join(w.Folder(), "cases.jsonl"))
	require.NoError(t, err)
	require.Equal(t, len(order), bytes.Count(cases, []byte("\n")))
	for n := range len(cases) + 1 {
		got, err := rebuild(plan, cases[:n], nil, nil)
		require.NoError(t, err)
		require.Empty(t, got.Notes)
		require.Equal(t, NotShown, got.Result.Outcome)
		whole := bytes.Count(cases[:n], []byte("\n"))
		if n < len(cases) && cases[n] == '\n' {
			whole++ // all but the newline is there
		}
		for k, i := range order {
			ran := got.Result.places()[i].Verdict != NotRun
			require.Equal(t, k < whole, ran, "case %d with %d bytes", i, n)
		}
	}
}

// A process killed while it writes: the child writes cases until it is killed.
func TestKilledProcess(t *testing.T) {
	if home := os.Getenv("RECORD_TEST_HOME"); home != "" {
		writeForever(home)
	}
	home := t.TempDir()
	child := exec.Command(os.Args[0], "-test.run=^TestKilledProcess$")
	child.Env = append(os.Environ(), "RECORD_TEST_HOME="+home)
	out, err := child.StdoutPipe()
	require.NoError(t, err)
	require.NoError(t, child.Start())
	said := make([]byte, 3) // a byte for each case that the child believes to be kept
	for n := 0; n < len(said); {
		m, err := out.Read(said[n:])
		require.NoError(t, err)
		n += m
	}
	require.NoError(t, child.Process.Kill())
	require.Error(t, child.Wait())
	folders, err := List(home)
	require.NoError(t, err)
	require.Len(t, folders, 1)
	got, err := Read(folders[0])
	require.NoError(t, err)
	assert.Empty(t, got.Notes)
	for i, c := range got.Result.places()[:len(said)] {
		assert.NotEqual(t, NotRun, c.Verdict, "case %d was kept before the kill", i)
	}
	assert.Equal(t, NotShown, got.Result.Outcome)
}

// writeForever writes the sample's cases, saying a byte after each, then waits
// for its end.
func writeForever(home string) {
	r := sample()
	w, err := Create(home, r, Host{}, began)
	if err != nil {
		panic(err)
	}
	for i := range r.places() {
		if err := keep(w, r, i); err != nil {
			panic(err)
		}
		os.Stdout.WriteString(".")
	}
	select {}
}

func TestWhatIsWrongIsNoted(t *testing.T) {
	w := written(t, sample(), []int{0, 1})
	require.NoError(t, w.Close())
	plan, err := os.ReadFile(filepath.Join(w.Folder(), "plan.json"))
	require.NoError(t, err)
	const first = `{"index":0,"case":{"name":"understeer","variant":"turn left","verdict":"pass"}}` + "\n"
	for _, test := range []struct {
		name                string
		cases, host, result string
		want                string
	}{
		{"torn in the middle", `{"index":0,` + "\n" + first, "", "", "line 1 of cases.jsonl cannot be read"},
		{"zeros of a lost block", "\x00\x00\n" + first, "", "", "line 1 of cases.jsonl cannot be read"},
		{"twice", first + first, "", "", "line 2 of cases.jsonl is of case 0 in suite 0, which was kept before"},
		{"beyond the plan", `{"index":9}` + "\n" + first, "", "", "line 1 of cases.jsonl is of case 9 in suite 0, which is not in the plan"},
		{"below the plan", `{"index":-1}` + "\n" + first, "", "", "line 1 of cases.jsonl is of case -1 in suite 0, which is not in the plan"},
		{"beyond the suites", `{"suite":2}` + "\n" + first, "", "", "line 1 of cases.jsonl is of case 0 in suite 2, which is not in the plan"},
		{"before the suites", `{"suite":-1}` + "\n" + first, "", "", "line 1 of cases.jsonl is of case 0 in suite -1, which is not in the plan"},
		{"another case", `{"index":1,"case":{"name":"else","variant":"turn right"}}` + "\n" + first, "", "", "line 1 of cases.jsonl is not of case 1 in suite 0 as planned"},
		{"host", first, "{", "", "host.json cannot be read"},
		{"result", first, "", "{}", "result.json is not what its digest says; the result is rebuilt from cases.jsonl"},
	} {
		t.Run(test.name, func(t *testing.T) {
			part := func(s string) []byte {
				if s == "" {
					return nil
				}
				return []byte(s)
			}
			got, err := rebuild(plan, part(test.cases), part(test.host), part(test.result))
			require.NoError(t, err)
			assert.Equal(t, []string{test.want}, got.Notes)
			assert.False(t, got.Ended)
			assert.NotEqual(t, DidNotEnd, got.Result.places()[0].Why, "the good line is kept")
			assert.Equal(t, NotShown, got.Result.Outcome)
		})
	}
}

func TestChangedResultIsNotBelieved(t *testing.T) {
	r := sample()
	w := written(t, r, []int{0, 1, 2, 3, 4})
	require.NoError(t, w.Finish(r, 0, 0))
	path := filepath.Join(w.Folder(), "result.json")
	data, err := os.ReadFile(path)
	require.NoError(t, err)
	data = bytes.Replace(data, []byte(`"NO-GO"`), []byte(`"GO"`), 1)
	require.NoError(t, os.WriteFile(path, data, 0o600))
	got, err := Read(w.Folder())
	require.NoError(t, err)
	assert.Equal(t, NotShown, got.Result.Outcome)
	assert.Equal(t, "result.json is not what its digest says", got.Result.Why)
	assert.Equal(t, 1, got.Result.Counts.Fail)
}

func TestUnreadable(t *testing.T) {
	for _, test := range []struct{ name, plan, want string }{
		{"no plan", "", "there is no plan.json; name the folder of one run"},
		{"torn plan", "{", "plan.json: unexpected end of JSON input"},
		{"another format", `{"format":"hilrig-record-9"}`, "plan.json: format hilrig-record-9 is newer than hilrig-record-1, the newest that this hilrig knows; read it with the hilrig that wrote it"},
		{"an older format", `{"format":"hilrig-record-0"}`, "plan.json: format hilrig-record-0 is not hilrig-record-1; read it with the hilrig that wrote it"},
		{"somebody else's", `{"format":"plan 3"}`, `plan.json: this is no record of hilrig: its format is "plan 3", not hilrig-record-1; name the folder of one run`},
	} {
		t.Run(test.name, func(t *testing.T) {
			folder := t.TempDir()
			if test.plan != "" {
				require.NoError(t, os.WriteFile(filepath.Join(folder, "plan.json"), []byte(test.plan), 0o600))
			}
			_, err := Read(folder)
			assert.EqualError(t, err, "record "+folder+": "+test.want)
		})
	}
}

func TestManyRunsAtOnceHaveFoldersOfTheirOwn(t *testing.T) {
	home := filepath.Join(t.TempDir(), "state", "records")
	const runs = 20
	folders := make([]string, runs)
	var wait sync.WaitGroup
	for i := range runs {
		wait.Go(func() {
			r := sample()
			r.Seed = uint64(i)
			w, err := Create(home, r, Host{}, began)
			if assert.NoError(t, err) {
				folders[i] = w.Folder()
				assert.NoError(t, w.Finish(r, 0, 0))
			}
		})
	}
	wait.Wait()
	for i, folder := range folders {
		got, err := Read(folder)
		require.NoError(t, err)
		assert.Equal(t, uint64(i), got.Result.Seed)
	}
	all, err := List(home)
	require.NoError(t, err)
	assert.Len(t, all, runs)
	assert.ElementsMatch(t, folders, all)
}

func TestCasesFromManyGoroutines(t *testing.T) {
	r := &Result{Suites: []Suite{{Name: "wide", Cases: make([]Case, 40)}}}
	for i := range r.Suites[0].Cases {
		r.Suites[0].Cases[i] = Case{Name: fmt.Sprint("case ", i), Checks: []Check{{Name: "c", Verdict: Pass}}}
	}
	w := written(t, r, nil)
	var wait sync.WaitGroup
	for i := range r.Suites[0].Cases {
		wait.Go(func() { assert.NoError(t, w.Case(0, i, r.Suites[0].Cases[i])) })
	}
	wait.Wait()
	require.NoError(t, w.Close())
	got, err := Read(w.Folder())
	require.NoError(t, err)
	assert.Empty(t, got.Notes)
	assert.Equal(t, 40, got.Result.Counts.Pass)
}

func TestNothingIsWrittenAfterTheEnd(t *testing.T) {
	r := sample()
	w := written(t, r, []int{0})
	require.NoError(t, w.Finish(r, 0, 0))
	assert.ErrorIs(t, w.Case(0, 1, Case{}), os.ErrClosed)
	assert.NoError(t, w.Close(), "closing again")
	left, err := filepath.Glob(filepath.Join(w.Folder(), "*.part"))
	require.NoError(t, err)
	assert.Empty(t, left)
}

func TestHome(t *testing.T) {
	for _, test := range []struct{ name, state, want string }{
		{"set", "/var/s", "/var/s/hilrig/records"},
		{"not set", "", "/home/x/.local/state/hilrig/records"},
		{"relative, which the specification has ignored", "state", "/home/x/.local/state/hilrig/records"},
	} {
		t.Run(test.name, func(t *testing.T) {
			t.Setenv("HOME", "/home/x")
			t.Setenv("XDG_STATE_HOME", test.state)
			got, err := Home()
			require.NoError(t, err)
			assert.Equal(t, test.want, got)
		})
	}
}

func TestRecordsOfOneSecondAreCounted(t *testing.T) {
	home := t.TempDir()
	require.NoError(t, os.Mkdir(filepath.Join(home, "no record"), 0o700))
	var want []string
	for _, name := range []string{"2026-03-01-190405", "2026-03-01-190405-02", "2026-03-01-190405-03"} {
		w, err := Create(home, sample(), Host{}, began)
		require.NoError(t, err)
		require.NoError(t, w.Close())
		assert.Equal(t, name, filepath.Base(w.Folder()))
		want = append(want, w.Folder())
	}
	got, err := List(home)
	require.NoError(t, err)
	assert.Equal(t, want, got)
}

func TestCaseIsKeptWithWhatIsNoNumberLeftOut(t *testing.T) {
	r := sample()
	w := written(t, r, nil)
	c := *r.places()[0]
	c.Checks = []Check{{Name: "open", Verdict: Pass, Estimate: new(0.1 + 0.2), High: new(math.Inf(1))}}
	require.NoError(t, w.Case(0, 0, c))
	require.NoError(t, w.Close())
	got, err := Read(w.Folder())
	require.NoError(t, err)
	assert.Equal(t, []Check{{Name: "open", Verdict: Pass, Estimate: new(0.3)}}, got.Result.places()[0].Checks)
	assert.NotNil(t, c.Checks[0].High, "the caller's case is left as it was")
}

func TestListOfNoHome(t *testing.T) {
	got, err := List(filepath.Join(t.TempDir(), "none"))
	require.NoError(t, err)
	assert.Empty(t, got)
}

func FuzzRebuild(f *testing.F) {
	r := sample()
	r.Seal()
	plan := planned(r).JSON()
	f.Add(plan, []byte(`{"index":0,"case":{"name":"understeer","variant":"turn left"}}`), []byte("{}"), r.JSON())
	f.Add(plan, []byte("{\"index\":1e99}\n\n{}"), []byte("["), []byte(nil))
	f.Add([]byte(`{"format":"hilrig-record-1","suites":[{"cases":[{}]}]}`), []byte(`{"case":{"checks":[{"estimate":1e308}]}}`), []byte(nil), []byte(`{"format":"hilrig-record-1","digest":""}`))
	f.Fuzz(func(t *testing.T, plan, cases, host, result []byte) {
		got, err := rebuild(plan, cases, host, result)
		if err != nil {
			return
		}
		if !got.Ended && got.Result.Outcome != NotShown {
			t.Fatalf("a run that did not end came to %s", got.Result.Outcome)
		}
		got.Result.Seal()
		got.Result.JSON()
	})
}

// A rig none of whose edges was captured between two looks has no gaps, not gaps of 0.
func TestTimingWithoutEdgesHasNoGaps(t *testing.T) {
	text, err := json.Marshal(Timing{Late: 3})
	require.NoError(t, err)
	assert.NotContains(t, string(text), "gap")
	text, err = json.Marshal(Timing{Edges: 1, MedianGapNS: 175, Gap95NS: 175, Gap99NS: 175, LongestGapNS: 175})
	require.NoError(t, err)
	assert.Contains(t, string(text), `"median_gap_ns":175,"gap_95_ns":175,"gap_99_ns":175,"longest_gap_ns":175`)
}
