package characteristic_test

import (
	"bytes"
	"encoding/csv"
	"errors"
	"math"
	"os"
	"os/exec"
	"path/filepath"
	"slices"
	"strconv"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"hilrig/assertions/characteristic"
)

func corrected(t *testing.T, of curve) *characteristic.Table {
	t.Helper()
	table, err := characteristic.Correct(play(of, 0.002, 21))
	require.NoError(t, err)
	return table
}

// The inverse of a known curve: a square root of the output, within what noise and straight
// pieces leave.
func TestTableIsTheInverse(t *testing.T) {
	table := corrected(t, func(x float64, _ characteristic.Direction) float64 { return (x + x*x) / 2 })
	for i := range 21 {
		share := float64(i) / 20
		assert.InDelta(t, (math.Sqrt(1+8*share)-1)/2, table.Command(share), 0.01, "share %g", share)
	}
	assert.True(t, slices.IsSorted(table.In) && slices.IsSorted(table.Out))
	assert.Equal(t, []float64{0, 1}, []float64{table.In[0], table.In[len(table.In)-1]})
	assert.Equal(t, "speed 120 rad/s", table.Held)
	assert.Less(t, table.Residual.High, 0.01)
	assert.Greater(t, table.Residual.High, 0.0)
}

// Between start threshold and saturation: what lies beyond gives nothing more.
func TestTableLiesBetweenStartAndSaturation(t *testing.T) {
	table := corrected(t, func(x float64, _ characteristic.Direction) float64 { return min(max(x-0.12, 0), 0.71) })
	assert.InDelta(t, 0.12, table.Out[0], 0.005)
	assert.InDelta(t, 0.83, table.Out[len(table.Out)-1], 0.005)
	assert.Equal(t, table.Out[0], table.Command(-1))
	assert.Equal(t, table.Out[len(table.Out)-1], table.Command(2))
}

func TestTableIsRefused(t *testing.T) {
	for _, row := range []struct {
		name, why string
		of        curve
		change    func(s *characteristic.Set)
	}{
		{"falls", "falls significantly from 60 % to 65 %", func(x float64, _ characteristic.Direction) float64 {
			if math.Abs(x-0.6) < 0.01 {
				x += 0.08
			}
			return x
		}, nil},
		{"is a switch", "rises over fewer than 4 levels", func(x float64, _ characteristic.Direction) float64 { return math.Round(x) }, nil},
		{"is level", "its span is 0", func(float64, characteristic.Direction) float64 { return 0.5 }, nil},
		{"turns the wrong way", "falls significantly from", func(x float64, _ characteristic.Direction) float64 { return -x }, nil},
		{"too few levels", "only 3 levels", linear, func(s *characteristic.Set) {
			s.Readings = slices.DeleteFunc(s.Readings, func(r characteristic.Reading) bool { return r.Level > 2 })
		}},
		{"a hole", "was not read from both directions", linear, func(s *characteristic.Set) {
			s.Readings = slices.DeleteFunc(s.Readings, func(r characteristic.Reading) bool { return r.Level == 7 })
		}},
	} {
		s := play(row.of, 0.002, 22)
		if row.change != nil {
			row.change(s)
		}
		table, err := characteristic.Correct(s)
		assert.Nil(t, table, row.name)
		assert.ErrorContains(t, err, row.why, row.name)
	}
}

// A level stretch in the middle is one point of the inverse, in its middle.
func TestTableOfALevelStretch(t *testing.T) {
	table := corrected(t, func(x float64, _ characteristic.Direction) float64 { return min(x, 0.4) + max(x-0.6, 0) })
	assert.InDelta(t, 0.5, table.Command(0.5), 0.11)
	assert.Greater(t, table.Residual.High, 0.01, "and is not hidden")
}

// A table for half of a range that goes both ways.
func TestTableOfTwoDirections(t *testing.T) {
	s := play(linear, 0.002, 23)
	for i := range s.Levels {
		s.Levels[i] = 2*s.Levels[i] - 1
	}
	table, err := characteristic.Correct(s)
	require.NoError(t, err)
	assert.InDelta(t, 0, table.Out[0], 1e-9)
	assert.InDelta(t, 0.5, table.Command(0.5), 0.005)
}

func TestTableAsCSV(t *testing.T) {
	table := corrected(t, sharpened)
	var b bytes.Buffer
	require.NoError(t, table.CSV(&b))
	rows, err := csv.NewReader(&b).ReadAll()
	require.NoError(t, err)
	assert.Equal(t, []string{"output_share", "command"}, rows[0])
	require.Len(t, rows, 1+len(table.In))
	for i, row := range rows[1:] {
		in, err := strconv.ParseFloat(row[0], 64)
		require.NoError(t, err)
		assert.InDelta(t, table.In[i], in, 1e-6)
		out, err := strconv.ParseFloat(row[1], 64)
		require.NoError(t, err)
		assert.InDelta(t, table.Out[i], out, 1e-6)
	}
	assert.Error(t, table.CSV(full{}))
	assert.Error(t, table.C(full{}, "table"))
}

// full is a place where nothing can be written.
type full struct{}

func (full) Write([]byte) (int, error) { return 0, errors.New("full") }

// firmware includes the table and looks values up in it, as its comment says.
const firmware = `#include <stdio.h>
#include "table.h"
#include "table.h"

int main(void) {
    for (int i = 0; i < THROTTLE_TABLE_LENGTH; i++) {
        printf("%u %u\n", (unsigned)throttle_table_output[i], (unsigned)throttle_table_command[i]);
    }
    return 0;
}
`

// The header compiles, without a warning, and holds what the table holds, in 16 bits.
func TestTableInC(t *testing.T) {
	gcc, err := exec.LookPath("gcc")
	if err != nil {
		if os.Getenv("CI") == "true" {
			t.Fatal("gcc is not on the path; install it, the header must be compiled in CI")
		}
		t.Skip("gcc is not on the path; install it to compile the header")
	}
	for name, of := range map[string]curve{"sharpened": sharpened, "saturating": saturating} {
		t.Run(name, func(t *testing.T) {
			table := corrected(t, of)
			table.Held = "speed 120 rad/s */ int x; /* \n#error"
			var header bytes.Buffer
			require.NoError(t, table.C(&header, "throttle_table"))
			folder := t.TempDir()
			require.NoError(t, os.WriteFile(filepath.Join(folder, "table.h"), header.Bytes(), 0o600))
			source, program := filepath.Join(folder, "firmware.c"), filepath.Join(folder, "firmware")
			require.NoError(t, os.WriteFile(source, []byte(firmware), 0o600))
			out, err := exec.Command(gcc, "-std=c99", "-pedantic", "-Wall", "-Wextra", "-Werror", "-o", program, source).CombinedOutput()
			require.NoError(t, err, "%s\n%s", out, header.String())
			printed, err := exec.Command(program).Output()
			require.NoError(t, err)
			rows := strings.Split(strings.TrimSpace(string(printed)), "\n")
			require.Len(t, rows, len(table.In))
			before := [2]int{-1, -1}
			for i, row := range rows {
				in, out, ok := strings.Cut(row, " ")
				require.True(t, ok, row)
				now := [2]int{}
				for k, word := range []string{in, out} {
					now[k], err = strconv.Atoi(word)
					require.NoError(t, err)
					assert.Greater(t, now[k], before[k], "both ascend")
					assert.LessOrEqual(t, now[k], 65535)
				}
				assert.InDelta(t, table.In[i], float64(now[0])/65535, 1e-5)
				assert.InDelta(t, table.Out[i], float64(now[1])/65535, 1e-5)
				before = now
			}
			assert.Equal(t, 65535, before[0])
		})
	}
}

func TestTableInCWantsANameOfC(t *testing.T) {
	table := corrected(t, linear)
	for _, name := range []string{"", "1table", "throttle-table", "a b", "Table", "x;int y"} {
		assert.ErrorContains(t, table.C(&bytes.Buffer{}, name), "cannot begin a name in C", name)
	}
}

// Entries that 16 bits cannot tell apart are written once, and the last one stands.
func TestTableInCHasNoEntryTwice(t *testing.T) {
	table := &characteristic.Table{In: []float64{0, 1e-7, 0.5, 1 - 1e-7, 1}, Out: []float64{0, 0.1, 0.5, 0.9, 1}}
	var b bytes.Buffer
	require.NoError(t, table.C(&b, "t"))
	assert.Contains(t, b.String(), "#define T_LENGTH 3")
	assert.Contains(t, b.String(), "0, 32768, 65535,")
}
