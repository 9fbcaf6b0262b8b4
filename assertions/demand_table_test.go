package assertions_test

import (
	"encoding/csv"
	"os"
	"path/filepath"
	"strconv"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"hilrig/assertions/law"
)

// Yaw gains of the linear single-track model, computed by a matrix exponential
// for parameters that public sources quote (its source column names them); the
// gains are not published values.
func TestDemandAgainstTheTable(t *testing.T) {
	file, err := os.Open(filepath.Join("measure", "testdata", "single_track.csv"))
	require.NoError(t, err)
	defer file.Close()
	rows, err := csv.NewReader(file).ReadAll()
	require.NoError(t, err)
	column := map[string]int{}
	for i, name := range rows[0] {
		column[name] = i
	}
	require.Greater(t, len(rows), 20)
	for _, row := range rows[1:] {
		number := func(name string) float64 {
			x, err := strconv.ParseFloat(row[column[name]], 64)
			require.NoError(t, err)
			return x
		}
		d := law.Demand{Wheelbase: number("L_m"), UndersteerGradient: number("K_rad_s2_per_m")}
		assert.InEpsilon(t, number("yaw_gain_1_per_s"), d.YawRate(number("v_mps"), 1), 1e-6,
			"%s at %s m/s; %s", row[0], row[column["v_mps"]], row[1])
	}
}
