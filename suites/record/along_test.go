package record

import (
	"io/fs"
	"math"
	"os"
	"path/filepath"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"
)

// drawnAlong draws commands along a case, on the grid in which they are kept.
func drawnAlong(t *rapid.T) *Along {
	bins := rapid.IntRange(0, 40).Draw(t, "bins")
	a := &Along{StartNS: rapid.Int64Min(0).Draw(t, "start"), BinNS: AlongBin, Stimulus: "a1", Played: map[string][]float64{}}
	for i := range a.Motors {
		m := &a.Motors[i]
		m.Uncertainty = 0.001
		m.Mean, m.Low, m.High = make([]float64, bins), make([]float64, bins), make([]float64, bins)
		for j := range bins {
			if rapid.Bool().Draw(t, "absent") {
				m.Mean[j], m.Low[j], m.High[j] = math.NaN(), math.NaN(), math.NaN()
				continue
			}
			mean := rapid.IntRange(-20000, 20000).Draw(t, "mean")
			m.Mean[j] = float64(mean) * commandUnit
			m.Low[j] = m.Mean[j] - float64(rapid.IntRange(0, 99).Draw(t, "below"))*commandUnit
			m.High[j] = m.Mean[j] + float64(rapid.IntRange(0, 99).Draw(t, "above"))*commandUnit
		}
	}
	for _, name := range []string{"speed", "yaw_rate"} {
		values := make([]float64, bins)
		for j := range values {
			values[j] = rapid.Float64Range(-50, 50).Draw(t, name)
		}
		a.Played[name] = values
	}
	return a
}

// near says that b is a, values that are not there among them, to half a unit of what is kept.
func near(t *rapid.T, a, b []float64, unit float64) {
	require.Len(t, b, len(a))
	for i := range a {
		if math.IsNaN(a[i]) {
			require.True(t, math.IsNaN(b[i]), "bin %d", i)
			continue
		}
		require.InDelta(t, a[i], b[i], unit*0.51, "bin %d", i)
	}
}

func TestCommandsAlongACaseComeBack(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		a := drawnAlong(t)
		packed, err := a.pack(3, 14)
		require.NoError(t, err)
		folder, err := os.MkdirTemp("", "along")
		require.NoError(t, err)
		defer func() { _ = os.RemoveAll(folder) }()
		require.NoError(t, os.WriteFile(filepath.Join(folder, alongName), append(packed, packed...), 0o600))
		cases := 0
		require.NoError(t, Alongs(folder, func(suite, index int, b *Along) {
			cases++
			require.Equal(t, []int{3, 14}, []int{suite, index})
			require.Equal(t, []any{a.StartNS, a.BinNS, a.Stimulus}, []any{b.StartNS, b.BinNS, b.Stimulus})
			for i := range a.Motors {
				near(t, a.Motors[i].Mean, b.Motors[i].Mean, commandUnit)
				near(t, a.Motors[i].Low, b.Motors[i].Low, commandUnit)
				near(t, a.Motors[i].High, b.Motors[i].High, commandUnit)
				require.InDelta(t, 0.001, b.Motors[i].Uncertainty, 0)
			}
			for name := range a.Played {
				near(t, a.Played[name], b.Played[name], playedUnit)
			}
		}))
		require.Equal(t, 2, cases)
	})
}

func TestCommandsOfARunThatBrokeOffEndWhereItDid(t *testing.T) {
	w, err := Create(t.TempDir(), sample(), Host{}, began)
	require.NoError(t, err)
	a := rapid.Custom(drawnAlong).Example(1)
	w.Along(0, 0, a)
	w.Along(0, 1, a)
	path := filepath.Join(w.Folder(), alongName)
	whole, err := os.ReadFile(path)
	require.NoError(t, err)
	require.NoError(t, w.Close())
	for cut := range len(whole) {
		require.NoError(t, os.WriteFile(path, whole[:cut], 0o600))
		cases := 0
		require.NoError(t, Alongs(w.Folder(), func(int, int, *Along) { cases++ }), "%d of %d bytes", cut, len(whole))
		want := 0
		if cut >= len(whole)/2 {
			want = 1
		}
		assert.Equal(t, want, cases, "%d of %d bytes", cut, len(whole))
	}
	require.NoError(t, os.WriteFile(path, []byte("no gzip at all"), 0o600))
	require.ErrorContains(t, Alongs(w.Folder(), func(int, int, *Along) {}), alongName)
	require.NoError(t, os.Remove(path))
	assert.ErrorIs(t, Alongs(w.Folder(), func(int, int, *Along) {}), fs.ErrNotExist)
}

func TestCommandsAlongCasesHaveADigest(t *testing.T) {
	r := sample()
	w, err := Create(t.TempDir(), r, Host{}, began)
	require.NoError(t, err)
	for _, s := range r.spots() {
		require.NoError(t, w.Case(s.suite, s.index, r.Suites[s.suite].Cases[s.index]))
		w.Along(s.suite, s.index, rapid.Custom(drawnAlong).Example(s.index))
	}
	require.NoError(t, w.Finish(r, 1, 1))
	read, err := Read(w.Folder())
	require.NoError(t, err)
	require.Empty(t, read.Wrong())
	path := filepath.Join(w.Folder(), alongName)
	data, err := os.ReadFile(path)
	require.NoError(t, err)
	data[len(data)/2] ^= 1
	require.NoError(t, os.WriteFile(path, data, 0o600))
	read, err = Read(w.Folder())
	require.NoError(t, err)
	assert.Contains(t, read.Wrong(), alongName+" is not what its digest says")
}

func FuzzCommandsAlongACase(f *testing.F) {
	f.Add([]byte("{\"bins\":2,\"played\":[]}\n\x00\x02\x01\x01\x01\x01"))
	f.Add([]byte("{\"bins\":1}\n\x00\x00\x00\x00\x00\x00\x00\x00\x00\x00\x00\x00"))
	f.Fuzz(func(t *testing.T, data []byte) {
		if _, a, err := unpack(data); err == nil {
			for i := range a.Motors {
				assert.Len(t, a.Motors[i].Low, len(a.Motors[i].Mean))
			}
		}
	})
}

func TestALaterPartOfWhatWasCommanded(t *testing.T) {
	a := &Along{StartNS: 1000, BinNS: 10, Played: map[string][]float64{"speed": {1, 2, 3}}}
	for i := range a.Motors {
		a.Motors[i] = Commands{Mean: []float64{4, 5, 6}, Low: []float64{4, 5, 6}, High: []float64{4, 5, 6}}
	}
	for at, want := range map[int64][]float64{0: {4, 5, 6}, 1000: {4, 5, 6}, 1001: {5, 6}, 1010: {5, 6}, 1020: {6}, 1021: {}, 5000: {}} {
		b := a.From(at)
		assert.Equal(t, want, b.Motors[3].High, "from %d", at)
		assert.Len(t, b.Played["speed"], len(want))
		assert.GreaterOrEqual(t, b.StartNS, at)
	}
}
