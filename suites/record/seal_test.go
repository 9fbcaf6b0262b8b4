package record

import (
	"encoding/json"
	"math"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"
)

func TestSamplesAreFewAndShort(t *testing.T) {
	assert.Nil(t, Samples(nil))
	assert.Equal(t, []float64{7.422, 12.35}, Samples([]float64{7.42242525, math.Inf(1), 12.3456}))
	many := make([]float64, 1000)
	for i := range many {
		many[i] = float64(i)
	}
	short := Samples(many)
	require.Len(t, short, 400)
	assert.Equal(t, []float64{0, 2, 5, 7}, short[:4], "evenly spread over their order")
	assert.Equal(t, 997.0, short[399])
}

func TestNumber(t *testing.T) {
	for _, test := range []struct {
		name string
		x    float64
		want string // as JSON writes it; empty: left out
	}{
		{"not a number", math.NaN(), ""},
		{"infinite", math.Inf(-1), ""},
		{"negative zero", math.Copysign(0, -1), "0"},
		{"short", 0.1, "0.1"},
		{"a last bit", 0.1 + 0.2, "0.3"},
		{"half to even digit by digit", 1234567.895, "1234567.9"},
		{"nine digits", -math.Pi * 1e6, "-3141592.65"},
		{"largest", math.MaxFloat64, "1.79769313e+308"},
		{"smallest", math.SmallestNonzeroFloat64, "5e-324"},
	} {
		t.Run(test.name, func(t *testing.T) {
			got := Number(test.x)
			if test.want == "" {
				assert.Nil(t, got)
				return
			}
			require.NotNil(t, got)
			text, err := json.Marshal(*got)
			require.NoError(t, err)
			assert.Equal(t, test.want, string(text))
		})
	}
}

func TestNumberIsWithinHalfAUnitOfTheNinthDigit(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		x := rapid.Float64Range(-1e300, 1e300).Draw(t, "x")
		y := Number(x)
		if math.Abs(x) > 1e-290 && math.Abs(*y-x) > 5.0001e-9*math.Abs(x) {
			t.Fatalf("Number(%v) = %v", x, *y)
		}
		if *Number(*y) != *y {
			t.Fatalf("Number(%v) is not its own rounding", *y)
		}
	})
}

func TestOutcome(t *testing.T) {
	for _, test := range []struct {
		name   string
		change func(r *Result)
		want   string
	}{
		{"all pass, one skipped on purpose", func(*Result) {}, Go},
		{"one fails", func(r *Result) { r.Suites[1].Cases[1].Checks[0].Verdict = Fail }, NoGo},
		{"one is undecided", func(r *Result) { r.Suites[0].Cases[0].Checks[1].Verdict = Undecided }, NotShown},
		{"a fail outweighs an undecided", func(r *Result) {
			r.Suites[0].Cases[0].Checks[0].Verdict = Fail
			r.Suites[0].Cases[0].Checks[1].Verdict = Undecided
		}, NoGo},
		{"one did not run", func(r *Result) { r.Suites[0].Cases[0].Verdict = NotRun }, NotShown},
		{"a case without checks", func(r *Result) { r.Suites[0].Cases[0].Checks = nil }, NotShown},
		{"a word that is no verdict", func(r *Result) { r.Suites[0].Cases[0].Checks[0].Verdict = "Pass" }, NotShown},
		{"nothing asked", func(r *Result) { r.Suites = nil }, NotShown},
		{"only skipped", func(r *Result) { r.Suites = r.Suites[1:]; r.Suites[0].Cases = r.Suites[0].Cases[:1] }, NotShown},
		{"broken off after a fail", func(r *Result) { r.Suites[1].Cases[1].Checks[0].Verdict = Fail; r.Why = DidNotEnd }, NotShown},
		{"cases were left out by choosing others", func(r *Result) { r.Suites[0].Cases[0].Verdict, r.Suites[0].Cases[0].Why = Skipped, LeftByOnly }, PartEnded},
		{"of those that were chosen one fails", func(r *Result) {
			r.Suites[0].Cases[0].Verdict, r.Suites[0].Cases[0].Why = Skipped, LeftByOnly
			r.Suites[1].Cases[1].Checks[0].Verdict = Fail
		}, NoGo},
		{"of those that were chosen one stays open", func(r *Result) {
			r.Suites[0].Cases[0].Verdict, r.Suites[0].Cases[0].Why = Skipped, LeftByOnly
			r.Suites[1].Cases[1].Checks[0].Verdict = Undecided
		}, NotShown},
		{"broken off", func(r *Result) { r.Why = DidNotEnd }, NotShown},
	} {
		t.Run(test.name, func(t *testing.T) {
			r := clean()
			test.change(r)
			r.Seal()
			assert.Equal(t, test.want, r.Outcome)
		})
	}
}

func TestWorst(t *testing.T) {
	for _, test := range []struct {
		name, verdicts, want string
	}{
		{"none", "", Undecided},
		{"not asked alone", "not asked", NotAsked},
		{"asked after all", "not asked,pass", Pass},
		{"undecided before pass", "pass,undecided,pass", Undecided},
		{"fail before undecided", "undecided,fail,pass", Fail},
	} {
		t.Run(test.name, func(t *testing.T) {
			var checks []Check
			for v := range strings.SplitSeq(test.verdicts, ",") {
				if v != "" {
					checks = append(checks, Check{Verdict: v})
				}
			}
			assert.Equal(t, test.want, Worst(checks))
		})
	}
}

func TestSealCounts(t *testing.T) {
	r := sample()
	r.Seal()
	assert.Equal(t, Counts{Cases: 5, Pass: 4, Fail: 1, Undecided: 1, NotAsked: 1, NotRun: 1}, r.Counts)
	assert.Equal(t, Counts{Cases: 2, Pass: 1, NotRun: 1}, r.Suites[1].Counts)
	var verdicts []string
	for _, c := range r.places() {
		verdicts = append(verdicts, c.Verdict)
	}
	assert.Equal(t, []string{Pass, Fail, Undecided, Skipped, Pass}, verdicts)
}

func TestSealIsIdempotent(t *testing.T) {
	r := sample()
	r.Suites[0].Cases[0].Checks[0].Estimate = new(0.1 + 0.2)
	r.Suites[0].Cases[0].Checks[0].High = new(math.Inf(1))
	r.Seal()
	first := string(r.JSON())
	r.Seal()
	assert.Equal(t, first, string(r.JSON()))
}

// The digest as another program takes it: testdata/result-digest-empty.json is the sample's
// result.json with digest "" and all space between tokens taken out, by python3 3.11.7
// (json.dumps(..., separators=(",", ":"), ensure_ascii=False)); its digest is that of
// coreutils sha256sum 9.1.
func TestDigestIsThatOfAnotherProgram(t *testing.T) {
	const outside = "2a32142bedb7c98c27c824335fbda8de149b4f6ef3e1d850827495b51ec165dd"
	r := sample()
	r.Seal()
	assert.Equal(t, outside, r.Digest)
	want, err := os.ReadFile(filepath.Join("testdata", "result-digest-empty.json"))
	require.NoError(t, err)
	r.Digest = ""
	assert.Equal(t, string(want), string(r.compact()))
}

// What a person notes of a run and how the paths were typed is no part of what came out.
func TestDigestDoesNotGoByLabelAndPaths(t *testing.T) {
	r := sample()
	r.Seal()
	before := r.Digest
	r.Label, r.Typed = r.Label+" another", map[string]string{"car.yaml": "/home/me/car.yaml"}
	r.Seal()
	assert.Equal(t, before, r.Digest)
	assert.NotContains(t, string(r.JSON()), "another")
	assert.Equal(t, "/home/me/car.yaml", r.Path("car.yaml"))
	assert.Equal(t, "bench.yaml", r.Path("bench.yaml"))
}

func TestDigestShowsEveryChange(t *testing.T) {
	r := sample()
	r.Seal()
	data := string(r.JSON())
	require.True(t, intact([]byte(data), r.Digest))
	assert.False(t, intact([]byte(strings.Replace(data, `"fail"`, `"pass"`, 1)), r.Digest), "a verdict")
	assert.False(t, intact([]byte(strings.Replace(data, `"seed": 1`, `"seed": 2`, 1)), r.Digest), "the seed")
	assert.False(t, intact([]byte(strings.Replace(data, `"seed": 1`, `"seed": 1, "later": 2`, 1)), r.Digest), "a further key")
	assert.True(t, intact([]byte(strings.ReplaceAll(data, "  ", "\t")), r.Digest), "indented otherwise")
	assert.False(t, intact([]byte(data), ""), "no digest")
}
