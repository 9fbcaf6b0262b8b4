package plant

import (
	"encoding/csv"
	"os"
	"path/filepath"
	"strconv"
	"testing"

	"github.com/stretchr/testify/require"
)

// row is one row of a table in testdata, by the names of its columns.
type row map[string]string

// number returns a column as a number; empty stands for 0.
func (r row) number(t *testing.T, column string) float64 {
	t.Helper()
	text, ok := r[column]
	require.True(t, ok, "no column %s", column)
	if text == "" {
		return 0
	}
	x, err := strconv.ParseFloat(text, 64)
	require.NoError(t, err, "column %s", column)
	return x
}

// readTable reads a table that must have that many rows.
func readTable(t *testing.T, name string, rows int) []row {
	t.Helper()
	f, err := os.Open(filepath.Join("testdata", name))
	require.NoError(t, err)
	defer f.Close()
	lines, err := csv.NewReader(f).ReadAll()
	require.NoError(t, err)
	var table []row
	for _, l := range lines[1:] {
		r := row{}
		for i, column := range lines[0] {
			r[column] = l[i]
		}
		table = append(table, r)
	}
	require.Len(t, table, rows)
	return table
}
