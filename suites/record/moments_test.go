package record

import (
	"bytes"
	"compress/gzip"
	"fmt"
	"io/fs"
	"math/rand/v2"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// drawnMoments returns so many moments with as many values as one may have, drawn like those of wires in real time.
func drawnMoments(n int) (all []Moment) {
	draw := rand.New(rand.NewPCG(1, 2))
	for i := range n {
		m := Moment{AtNS: int64(i+1) * 1e9, Step: "hold", FromNS: int64(i+1)*1e9 - 45e7, ToNS: int64(i+1)*1e9 + 25e7, StrideNS: 2e6, Played: map[string][]float64{}}
		m.Measured = &Stretch{Name: "hold", FromNS: m.FromNS, ToNS: m.ToNS}
		m.Faults = []Stretch{{Name: "jitter: yaw_serial", FromNS: m.FromNS, ToNS: m.ToNS}}
		for _, name := range []string{"yaw_rate", "steer", "speed", "throttle", "gain"} {
			for range MostValues {
				m.Played[name] = append(m.Played[name], Rounded(draw.Float64()))
			}
		}
		for w := range m.Motors {
			base := Rounded(draw.Float64())
			m.Motors[w].Baseline, m.Motors[w].LeftOut = &base, 3
			for range MostFrames {
				m.Motors[w].StepsNS = append(m.Motors[w].StepsNS, 1_000_000+draw.Int64N(100_000))
				m.Motors[w].Values = append(m.Motors[w].Values, Rounded(draw.Float64()))
			}
		}
		all = append(all, m)
	}
	return all
}

// What is kept of moments comes back, and takes no more than what is said before a run.
func TestMomentsComeBack(t *testing.T) {
	w := written(t, clean(), []int{0})
	assert.False(t, KeepsMoments(w.Folder()))
	_, err := Moments(w.Folder(), 0, 0)
	require.ErrorIs(t, err, fs.ErrNotExist)
	all := drawnMoments(MostFailed + MostOpen)
	w.Moments(0, 0, all)
	w.Moments(0, 1, nil)
	assert.True(t, KeepsMoments(w.Folder()))
	got, err := Moments(w.Folder(), 0, 0)
	require.NoError(t, err)
	assert.Equal(t, all, got)
	got, err = Moments(w.Folder(), 0, 1)
	require.NoError(t, err)
	assert.Empty(t, got)
	info, err := os.Stat(filepath.Join(w.Folder(), "moments", "0-0.json.gz"))
	require.NoError(t, err)
	assert.Less(t, info.Size(), int64(RoomOfMoments))
	assert.Greater(t, info.Size(), int64(RoomOfMoments/3), "the estimate is not wide of the mark")
	require.NoError(t, w.Finish(clean(), 1, 2))
	r, err := Read(w.Folder())
	require.NoError(t, err)
	assert.Empty(t, r.Wrong())
}

// What cannot be written is told at the end, and is not taken for an older record's.
func TestMomentsThatCannotBeWritten(t *testing.T) {
	w := written(t, clean(), []int{0})
	require.NoError(t, os.WriteFile(filepath.Join(w.folder, momentsName), nil, 0o600))
	w.Moments(0, 1, drawnMoments(1))
	require.NoError(t, os.Remove(filepath.Join(w.folder, momentsName)))
	require.ErrorContains(t, w.Finish(clean(), 1, 2), "lacks moments/0-1.json.gz: record: moments: ")
	(&Writer{}).Moments(0, 0, drawnMoments(1)) // keeps nothing
}

// What no writer writes is an error that says what, whatever it is.
func TestDamagedMomentsAreRefused(t *testing.T) {
	w := written(t, clean(), []int{0})
	w.Moments(0, 0, drawnMoments(1))
	path := filepath.Join(w.Folder(), "moments", "0-0.json.gz")
	whole, err := os.ReadFile(path)
	require.NoError(t, err)
	packed := func(text string) []byte {
		var b bytes.Buffer
		z := gzip.NewWriter(&b)
		_, err := z.Write([]byte(text))
		require.NoError(t, err)
		require.NoError(t, z.Close())
		return b.Bytes()
	}
	// one returns a moment with other keys than those of a small one.
	one := func(keys string) []byte {
		return packed(`[{"at_ns":5,"from_ns":0,"to_ns":100,"stride_ns":1,"played":{"speed":[1,2]},"motors":[{"steps_ns":[1,2],"values":[0,1]},{},{},{}]` + keys + `}]`)
	}
	many := func(n int, one string) string { return strings.TrimSuffix(strings.Repeat(one+",", n), ",") }
	for _, tt := range []struct {
		name string
		data []byte
		want string // empty: it is read
	}{
		{"small", one(""), ""},
		{"nothing", nil, "EOF"},
		{"cut short", whole[:len(whole)/2], "unexpected EOF"},
		{"a bit flipped", append(append([]byte(nil), whole[:len(whole)-6]...), append([]byte{whole[len(whole)-6] ^ 1}, whole[len(whole)-5:]...)...), "invalid checksum"},
		{"not packed", []byte("[{},{},{},{}]"), "invalid header"},
		{"too large", append(append([]byte(nil), whole...), make([]byte, mostPacked)...), "are read at most"},
		{"too large when it is unpacked", packed(strings.Repeat(" ", mostUnpacked+1)), "unpacked it has more than the 16777216 bytes"},
		{"no list", packed(`{"at_ns":1}`), "it is no list of moments"},
		{"an open list", packed(`[`), "EOF"},
		{"other types", packed(`["a"]`), "cannot unmarshal string"},
		{"too many", packed("[" + many(13, `{"from_ns":1,"to_ns":2}`) + "]"), "more than the 12 moments"},
		{"ends before it begins", one(`,"to_ns":-1`), "moment 1: it is from 0 ns to -1 ns"},
		{"lasts for ever", one(`,"to_ns":9223372036854775807`), "moment 1: it is from 0 ns to 9223372036854775807 ns"},
		{"before the run", one(`,"from_ns":-9223372036854775808`), "moment 1: it is from -9223372036854775808 ns to 100 ns"},
		{"no stride", one(`,"stride_ns":0`), "its values lie 0 ns apart"},
		{"values without end", one(`,"played":{"gain":[` + many(501, "1") + `]}`), `501 values of "gain" are more than 500`},
		{"no value", one(`,"played":{"gain":[1e99]}`), "a value is 1e+99"},
		{"no number at all", one(`,"played":{"gain":[1e999]}`), "cannot unmarshal number"},
		{"frames without times", one(`,"motors":[{},{},{"values":[1]},{}]`), "rear_left has 0 times and 1 frames"},
		{"frames without end", one(fmt.Sprintf(`,"motors":[{"steps_ns":[%s],"values":[%[1]s]},{},{},{}]`, many(601, "0"))), "front_left has 601 times and 601 frames"},
		{"a frame too late", one(`,"motors":[{},{"steps_ns":[99,2],"values":[0,0]},{},{}]`), "a frame of front_right lies outside"},
		{"a frame too early", one(`,"motors":[{},{"steps_ns":[-1],"values":[0]},{},{}]`), "a frame of front_right lies outside"},
		{"a baseline far away", one(`,"motors":[{"baseline":-1e7},{},{},{}]`), "a baseline is -1e+07"},
		{"faults without end", one(`,"faults":[` + many(601, "{}") + `]`), "it has 601 faults"},
	} {
		t.Run(tt.name, func(t *testing.T) {
			require.NoError(t, os.WriteFile(path, tt.data, 0o600))
			_, err := Moments(w.Folder(), 0, 0)
			if tt.want == "" {
				require.NoError(t, err)
				return
			}
			require.ErrorContains(t, err, tt.want)
			assert.ErrorContains(t, err, "moments/0-0.json.gz: ")
		})
	}
}

func TestMomentsGoWithTheirRecord(t *testing.T) {
	home := t.TempDir()
	folder := shelved(t, home, began, false)
	(&Writer{folder: folder, sums: map[string]string{}, failed: map[string]bool{}}).Moments(0, 0, drawnMoments(1))
	all, err := Entries(home)
	require.NoError(t, err)
	require.Len(t, all, 1)
	assert.Greater(t, all[0].Bytes, int64(10_000), "its size counts")
	all[0].Ended = true
	require.NoError(t, Remove(all[0], began))
	assert.NoDirExists(t, folder)
}

// A run that is joined has the moments of all its parts, each from the part that played it.
func TestMomentsOfPartsAreJoined(t *testing.T) {
	kept := drawnMoments(3)
	var parts []*Record
	for n := range 2 {
		r := clean()
		r.Part = &Part{Number: n + 1, Of: 2, Left: []string{r.Suites[1-n].File}}
		w, err := Create(t.TempDir(), r, Host{}, began)
		require.NoError(t, err)
		require.NoError(t, w.Inputs([]Input{{Role: CarInput, Path: "car.yaml"}, {Role: BenchInput, Path: "bench.yaml"}, {Role: SuiteInput, Path: "a.yaml"}}))
		w.Moments(n, 0, kept[n:n+1])
		w.Moments(1-n, 0, kept[2:]) // of a suite that it did not play
		require.NoError(t, w.Finish(r, 1, 1))
		p, err := Read(w.Folder())
		require.NoError(t, err)
		parts = append(parts, p)
	}
	whole, err := Join(parts)
	require.NoError(t, err)
	w, err := Create(t.TempDir(), whole.Result, Host{}, began)
	require.NoError(t, err)
	require.NoError(t, whole.Keep(w))
	require.NoError(t, w.Finish(whole.Result, 1, 1))
	for n := range 2 {
		got, err := Moments(w.Folder(), n, 0)
		require.NoError(t, err)
		assert.Equal(t, kept[n:n+1], got)
	}
	_, err = Moments(w.Folder(), 0, 1)
	require.ErrorIs(t, err, fs.ErrNotExist)
	require.NoError(t, os.WriteFile(filepath.Join(parts[0].Folder, momentsIn(0, 0)), nil, 0o600))
	assert.ErrorContains(t, whole.Keep(w), "moments/0-0.json.gz")
}
