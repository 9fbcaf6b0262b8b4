//go:build full

package campaign

import (
	"bytes"
	"os"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"hilrig/suites"
	"hilrig/suites/standard"
)

// The whole table that is checked in is what is played.
func TestTheWholeTableIsWhatIsPlayed(t *testing.T) {
	var files []suites.Files
	for _, board := range Boards() {
		files = append(files, filesOf(board, standards(t, append([]string{standard.Life}, standard.Names()...)...)...))
	}
	table, err := RunTable(t.Context(), files, nil)
	require.NoError(t, err)
	var out bytes.Buffer
	require.NoError(t, table.Write(&out))
	want, err := os.ReadFile("../report/faults/faults.jsonl")
	require.NoError(t, err)
	assert.Equal(t, string(want), out.String(), makeAnew)
}
