package record

import (
	"os"
	"path/filepath"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

func TestOtherFormsAreRecordedAndHeldAgainstTheirDigests(t *testing.T) {
	w, err := Create(t.TempDir(), sample(), Host{}, began)
	require.NoError(t, err)
	assert.Empty(t, Forms(w.Folder()))
	require.NoError(t, w.Form("b.svg", []byte("first")))
	require.NoError(t, w.Form("b.svg", []byte("<svg/>")))
	require.NoError(t, w.Form("a.csv", []byte("x\n")))
	assert.Equal(t, []string{"a.csv", "b.svg"}, Forms(w.Folder()))
	data, err := os.ReadFile(filepath.Join(w.Folder(), "forms", "b.svg"))
	require.NoError(t, err)
	assert.Equal(t, "<svg/>", string(data))

	require.Error(t, w.Form(filepath.Join("no", "folder"), nil))
	assert.Equal(t, []string{"forms/no/folder"}, w.Missing())
	require.NoError(t, (&Writer{}).Form("b.svg", nil), "the zero value keeps nothing")
}

// A measured figure stands neither for nor against GO; where nothing was asked at all the
// outcome says so.
func TestOutcomeOfMeasuredAlone(t *testing.T) {
	with := func(verdicts ...string) *Result {
		r := &Result{Suites: []Suite{{Cases: []Case{{}}}}}
		for _, v := range verdicts {
			r.Suites[0].Cases[0].Checks = append(r.Suites[0].Cases[0].Checks, Check{Verdict: v})
		}
		r.Seal()
		return r
	}
	only := with(MeasuredOnly, MeasuredOnly)
	assert.Equal(t, Measured, only.Outcome)
	assert.Equal(t, Counts{Cases: 1, Measured: 2}, only.Counts)
	assert.Equal(t, MeasuredOnly, only.Counts.Worst())
	assert.Equal(t, Go, with(MeasuredOnly, Pass).Outcome)
	assert.Equal(t, NoGo, with(MeasuredOnly, Fail).Outcome)
	assert.Equal(t, NotShown, with(MeasuredOnly, Undecided).Outcome)
	assert.Equal(t, NotShown, with(NotAsked).Outcome)

	only.Why = DidNotEnd
	only.Seal()
	assert.Equal(t, NotShown, only.Outcome)
	only.Why = ""
	only.Suites[0].Cases = append(only.Suites[0].Cases, Case{Verdict: Skipped})
	only.Seal()
	assert.Equal(t, Measured, only.Outcome, "as a skipped case does not stand against GO")
	only.Suites[0].Cases = append(only.Suites[0].Cases, Case{Verdict: NotRun})
	only.Seal()
	assert.Equal(t, NotShown, only.Outcome)
}
