package pinout

import (
	"math"
	"os"
	"regexp"
	"strconv"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"hilrig/rig/decode"
)

// The shares are those of the guide's table, at turns of 240, 280 and 320 ns and at either jitter.
func TestFramesReadAreThoseOfTheTable(t *testing.T) {
	page, err := os.ReadFile("../DSHOT.md")
	require.NoError(t, err)
	row := regexp.MustCompile(`^\| (DShot\d+), bit times within ([0-9 or]+) % \|`)
	kinds := map[string]decode.MotorKind{"DShot150": decode.DShot150, "DShot300": decode.DShot300, "DShot600": decode.DShot600}
	type of struct {
		kind      decode.MotorKind
		tolerance string
	}
	least, most := map[of]float64{}, map[of]float64{}
	for line := range strings.Lines(string(page)) {
		found := row.FindStringSubmatch(line)
		if found == nil {
			continue
		}
		cells := strings.Split(line, "|")
		for tolerance := range strings.SplitSeq(found[2], " or ") {
			k := of{kinds[found[1]], tolerance}
			for _, cell := range cells[6:9] { // behind kind, jitter, 120, 160 and 200 ns
				share, err := strconv.ParseFloat(strings.Fields(cell)[0], 64)
				require.NoError(t, err)
				if _, ok := least[k]; !ok {
					least[k], most[k] = share, share
				}
				least[k], most[k] = math.Min(least[k], share), math.Max(most[k], share)
			}
		}
	}
	require.Len(t, least, 6)
	for k := range least {
		tolerance, err := strconv.ParseFloat(k.tolerance, 64)
		require.NoError(t, err)
		low, high := FramesRead(k.kind, tolerance/100)
		assert.InDelta(t, least[k], 100*low, 1e-9, "%v at %s %%", k.kind, k.tolerance)
		assert.InDelta(t, most[k], 100*high, 1e-9, "%v at %s %%", k.kind, k.tolerance)
	}
	low, high := FramesRead(decode.DShot600, 0)
	assert.Equal(t, []float64{0.035, 0.647}, []float64{low, high}, "what is not said is 10 %")
}
