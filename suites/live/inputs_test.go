package live

import (
	"bytes"
	"errors"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// disk is a disk in memory.
type disk map[string]string

func (d disk) read(path string, _ int64) ([]byte, error) {
	data, ok := d[path]
	if !ok {
		return nil, errors.New("no such file")
	}
	return []byte(data), nil
}

func TestInputsAreWhatWasReadFirst(t *testing.T) {
	d := disk{"bench.yaml": "motors_powered: wheels_off_ground", "log.csv": "\x00\xff not text"}
	parent := NewInputs(d.read)
	_, err := parent.Read("none.csv")
	require.ErrorContains(t, err, "no such file")
	for _, path := range []string{"bench.yaml", "log.csv"} {
		_, err := parent.Read(path)
		require.NoError(t, err)
	}
	var pipe bytes.Buffer
	require.NoError(t, parent.Give(&pipe))

	d["bench.yaml"], d["none.csv"] = "motors_powered: signals_only", "it is there now"
	worker, err := ReadInputs(&pipe)
	require.NoError(t, err)
	for _, inputs := range []*Inputs{parent, worker} {
		data, err := inputs.Read("bench.yaml")
		require.NoError(t, err)
		assert.Equal(t, "motors_powered: wheels_off_ground", string(data))
		data, err = inputs.Read("log.csv")
		require.NoError(t, err)
		assert.Equal(t, "\x00\xff not text", string(data))
	}
	_, err = worker.Read("none.csv")
	require.EqualError(t, err, "none.csv was not read before the bench went live, and is not read now; start again")
}

func TestInputsThatAreNotWholeAreRefused(t *testing.T) {
	for _, text := range []string{"", `{"bench.yaml":"bW90`, `{"bench.yaml":"?"}`, "[]"} {
		_, err := ReadInputs(strings.NewReader(text))
		require.ErrorContains(t, err, "start again", "%q", text)
	}
	require.ErrorContains(t, NewInputs(disk{}.read).Give(full{}), "no space left")
}

// full is a writer that takes nothing.
type full struct{}

func (full) Write([]byte) (int, error) { return 0, errors.New("no space left") }
