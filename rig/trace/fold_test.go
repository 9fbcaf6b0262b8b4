package trace

import (
	"crypto/sha256"
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
	"pgregory.net/rapid"

	"hilrig/rig/signal"
)

// A trace that folds says what one says that keeps everything as it is.
func TestFoldingLosesNothing(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		var plain, folding Trace
		all := Fold{}
		for c := range all.Columns {
			all.Columns[c] = true
		}
		folding.Folding(&all)
		plain.Reset(5, signal.Millisecond, 0)
		folding.Reset(5, signal.Millisecond, 0)
		value := rapid.SampledFrom([]float64{0, 0.25, 1, -1, math.NaN(), math.Inf(1), 0.1})
		ticks := rapid.IntRange(0, 6000).Draw(t, "ticks")
		period := signal.Time(rapid.IntRange(1, 4).Draw(t, "period"))
		held := value.Draw(t, "held")
		length := signal.Time(rapid.Int64Range(0, 1_000_000).Draw(t, "length"))
		for i := range signal.Time(ticks) {
			if rapid.IntRange(0, 200).Draw(t, "change") == 0 {
				held, length = value.Draw(t, "held"), signal.Time(rapid.Int64Range(0, 1_000_000).Draw(t, "length"))
			}
			at := i * signal.Millisecond
			for _, tr := range []*Trace{&plain, &folding} {
				for c := range tr.Column {
					tr.Column[c] = append(tr.Column[c], held)
				}
				tr.Column[YawRate][len(tr.Column[YawRate])-1] = float64(i)
				if i%period == 0 {
					tr.Motor[2].Frames = append(tr.Motor[2].Frames, Frame{at, at + length, held, float64(length)})
					tr.Sent[SentGain] = append(tr.Sent[SentGain], Sent{at, at + length, held, i%7 == 0, length % 3, length % 5, held})
				}
				if i%5 == 0 {
					tr.Motor[2].Events = append(tr.Motor[2].Events, Event{at, Lost})
				}
				tr.Fold()
			}
		}
		assert.Equal(t, plain.Rows(), folding.Rows())
		end := signal.Time(ticks) * signal.Millisecond
		from := signal.Time(rapid.Int64Range(-1, int64(end)).Draw(t, "from"))
		to := signal.Time(rapid.Int64Range(-1, int64(end)+1).Draw(t, "to"))
		same(t, plain.Motor[2].Between(from, to), folding.Motor[2].Between(from, to))
		same(t, plain.SentBetween(SentGain, from, to), folding.SentBetween(SentGain, from, to))
		same(t, plain.Motor[2].EventsBetween(from, to), folding.Motor[2].EventsBetween(from, to))
		same(t, plain.Motor[2].Before(to, 12), folding.Motor[2].Before(to, 12))
		assert.Equal(t, plain.Motor[2].Count(from, to), folding.Motor[2].Count(from, to))
		lo, hi := int(max(0, from)/signal.Millisecond), int(max(0, to)/signal.Millisecond)
		for _, c := range []Channel{YawRate, Gain} {
			if lo <= hi && hi <= ticks {
				same(t, plain.Values(c, lo, hi), folding.Values(c, lo, hi))
			}
			assert.Equal(t, plain.Length(c), folding.Length(c))
		}
	})
}

// same compares by bits, so that what is no number is like itself.
func same[T any](t *rapid.T, want, got []T) {
	assert.Len(t, got, len(want))
	for i := range want {
		a, b := any(want[i]), any(got[i])
		if x, ok := a.(float64); ok {
			a, b = math.Float64bits(x), math.Float64bits(b.(float64))
		}
		if f, ok := a.(Frame); ok {
			g := b.(Frame)
			a, b = wordsOfFrame(&f), wordsOfFrame(&g)
		}
		if s, ok := a.(Sent); ok {
			g := b.(Sent)
			a, b = wordsOfSent(&s), wordsOfSent(&g)
		}
		if a != b {
			t.Fatalf("%d: %v is not %v", i, b, a)
		}
	}
}

// Rows outside of what is kept stand still, columns that are not kept are gone, and both are
// in the digest all the same.
func TestFoldingKeepsWhatItIsAskedFor(t *testing.T) {
	digest := func(last float64) (*Trace, [32]byte) {
		tr := new(Trace)
		keep := Fold{Rows: []Span{{100 * signal.Millisecond, 200 * signal.Millisecond}}}
		keep.Columns[Speed] = true
		tr.Folding(&keep)
		tr.Reset(signal.Second, signal.Millisecond, 1<<30)
		for i := range 1000 {
			for c := range tr.Column {
				tr.Column[c] = append(tr.Column[c], float64(i))
			}
			if i == 300 {
				tr.Column[Heading][len(tr.Column[Heading])-1] = last
			}
			tr.Fold()
		}
		h := sha256.New()
		tr.Hash(h)
		return tr, [32]byte(h.Sum(nil))
	}
	tr, first := digest(1)
	_, second := digest(2)
	assert.NotEqual(t, first, second)
	assert.Equal(t, 1000, tr.Rows())
	assert.Zero(t, tr.Length(Heading))
	speed := tr.Values(Speed, 0, 900)
	assert.Equal(t, 150.0, speed[150])
	assert.Equal(t, 199.0, speed[800], "it stands still")
	assert.Less(t, tr.Bytes(), 20<<16, "nothing is reserved for what will come")
}
