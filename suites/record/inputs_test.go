package record

import (
	"os"
	"path/filepath"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

func TestInputsComeBackAsTheyWere(t *testing.T) {
	w, err := Create(t.TempDir(), &Result{Format: Format}, Host{}, time.Unix(0, 0))
	require.NoError(t, err)
	want := []Input{
		{Role: CarInput, Path: "my/car.yaml", Data: []byte("car: x\n")},
		{Role: BenchInput, Path: "bench.yaml", Data: []byte("bench: y\n")},
		{Role: LogInput, Path: "../log.csv", Data: []byte{0, 1, 2}},
		{Role: SuiteInput, Path: "empty.yaml", Data: []byte{}},
	}
	require.NoError(t, w.Inputs(want))
	require.NoError(t, w.Close())
	got, err := Inputs(w.Folder())
	require.NoError(t, err)
	assert.Equal(t, want, got)
	assert.Error(t, w.Inputs(want), "what is kept is not written over")
}

func TestMissingInputsAreSaid(t *testing.T) {
	_, err := Inputs(t.TempDir())
	assert.ErrorContains(t, err, "cannot be played again")
	folder := t.TempDir()
	require.NoError(t, os.Mkdir(filepath.Join(folder, inputsName), 0o700))
	list := filepath.Join(folder, inputsName, inputsList)
	require.NoError(t, os.WriteFile(list, []byte("{"), 0o600))
	_, err = Inputs(folder)
	assert.ErrorContains(t, err, inputsList)
	require.NoError(t, os.WriteFile(list, []byte(`[{"role":"car","path":"x"},{"role":"bench"}]`), 0o600))
	_, err = Inputs(folder)
	assert.ErrorContains(t, err, "inputs/list.json names no suite; it cannot be played again")
	require.NoError(t, os.WriteFile(list, []byte(`[{"role":"car","path":"x"},{"role":"bench"},{"role":"suite"}]`), 0o600))
	_, err = Inputs(folder)
	assert.ErrorIs(t, err, os.ErrNotExist)
}
