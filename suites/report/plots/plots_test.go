package plots_test

import (
	"bytes"
	"encoding/xml"
	"io"
	"math"
	"regexp"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"hilrig/suites/report/plots"
)

// hostile is a text that breaks out of whatever does not escape it.
const hostile = "</text></svg><script>alert(1)</script>\"' onload=x \x00\x1b[31m\u202egpj.exe ../../etc &amp; \u2028"

// pictures are pictures of each kind, with hostile names and with values that are no numbers.
func pictures() map[string]func(w io.Writer) error {
	at := []float64{0, 0.1, 0.2, 0.3}
	gaps := []float64{1, math.NaN(), 3, 2}
	return map[string]func(w io.Writer) error{
		"over": (&plots.Picture{
			Title: hostile,
			Panels: []plots.Panel{
				{Name: hostile, Unit: hostile, Series: []plots.Series{
					{Name: hostile, At: at, Value: gaps, Low: gaps, High: gaps, Stepped: true, Marked: true}, {Name: "other", At: at, Value: at}},
					Limits: []plots.Limit{{0, 0.2, math.Inf(-1), 2}, {0, 0.2, 0, 2}}, Levels: []plots.Level{{hostile, 0, 1, 2}}},
				{Name: "nothing"},
			},
			Marks: []plots.Mark{{hostile, 0.15}, {"outside", 99}}, Spans: []plots.Span{{hostile, 0.1, 0.2}},
		}).SVG,
		"over of nothing": func(w io.Writer) error { return plots.Over(w, "", nil) },
		"bars": (&plots.Bars{About: hostile, Axis: hostile, FromZero: true, Bars: []plots.Bar{
			{hostile, hostile, 5, 4, 6, math.Inf(-1), 7}, {"open", "", 1, math.NaN(), math.NaN(), math.NaN(), math.NaN()}}}).SVG,
		"no bars":      (&plots.Bars{}).SVG,
		"histogram":    (&plots.Histogram{About: hostile, Axis: hostile, Counted: hostile, Values: []float64{1, 2, 2, math.NaN(), math.Inf(1)}, Marks: []plots.Mark{{hostile, 2}, {"limit", 9}}}).SVG,
		"no histogram": (&plots.Histogram{}).SVG,
		"across": (&plots.Across{About: hostile, X: hostile, Y: hostile, Equal: true, Marks: []plots.Mark{{hostile, 1}},
			Curves: []plots.Curve{{hostile, at, gaps}, {"shorter", at, at[:2]}}}).SVG,
		"across nothing": (&plots.Across{}).SVG,
		"car":            (&plots.Car{About: hostile, Turns: []plots.Turn{{hostile, true, [4]plots.Wheel{{math.NaN(), hostile}, {2, "+9 %"}, {-1, "-9 %"}, {0, "0 %"}}}}}).SVG,
	}
}

func TestPicturesStandInAPageAsTheyAre(t *testing.T) {
	colour := regexp.MustCompile(`#[0-9A-Fa-f]{3,8}`)
	for name, draw := range pictures() {
		t.Run(name, func(t *testing.T) {
			var out bytes.Buffer
			require.NoError(t, draw(&out))
			svg := out.String()
			assert.True(t, strings.HasPrefix(svg, "<svg "), "%.80s", svg)
			elements := map[string]bool{}
			for from := xml.NewDecoder(strings.NewReader(svg)); ; {
				token, err := from.Token()
				if err == io.EOF {
					break
				}
				require.NoError(t, err)
				if e, ok := token.(xml.StartElement); ok {
					elements[e.Name.Local] = true
					for _, a := range e.Attr {
						assert.NotEqual(t, "id", a.Name.Local)
						assert.NotContains(t, a.Value, "NaN")
						assert.NotContains(t, a.Value, "Inf")
						assert.False(t, strings.HasPrefix(a.Name.Local, "on"), "%s", a.Name.Local)
					}
				}
			}
			for e := range elements {
				assert.Contains(t, []string{"svg", "g", "path", "text"}, e)
			}
			for _, at := range colour.FindAllStringIndex(svg, -1) {
				assert.Equal(t, ",", svg[at[0]-1:at[0]], "%s is no ink that a page could change", svg[at[0]:at[1]])
			}
			assert.NotContains(t, svg, "\u202e")
			assert.NotContains(t, svg, "\x1b")
			assert.NotContains(t, svg, "Infinity")
		})
	}
}

func TestNamesAreText(t *testing.T) {
	var out bytes.Buffer
	require.NoError(t, plots.Over(&out, "understeer & co", []plots.Panel{{Name: "yaw rate", Unit: "deg/s"}}))
	assert.Contains(t, out.String(), ">understeer &amp; co</text>")
	assert.Contains(t, out.String(), ">yaw rate, deg/s</text>")
}

// A band that is filled goes only where both of its ends are known.
func TestALineBreaksWhereThereIsNoValue(t *testing.T) {
	draw := func(values ...float64) string {
		var out bytes.Buffer
		require.NoError(t, plots.Over(&out, "", []plots.Panel{{Series: []plots.Series{{At: []float64{0, 1, 2, 3}, Value: values}}}}))
		line := regexp.MustCompile(`<path d="([^"]*)" style="fill:none;stroke:var\(--plot-blue`).FindStringSubmatch(out.String())
		require.NotNil(t, line, out.String())
		return line[1]
	}
	assert.Equal(t, 1, strings.Count(draw(1, 2, 3, 4), "M"))
	assert.Equal(t, 2, strings.Count(draw(1, 2, math.NaN(), 4), "M"))
}

func TestScaleOf(t *testing.T) {
	tests := []struct {
		name   string
		values []float64
		want   plots.Scale
	}{
		{"round", []float64{0, 100}, plots.Scale{Low: 0, High: 100, Step: 20}},
		{"both ways", []float64{-100, 100}, plots.Scale{Low: -100, High: 100, Step: 50}},
		{"torque", []float64{0, 0.43}, plots.Scale{Low: 0, High: 0.5, Step: 0.1}},
		{"small", []float64{0, 0.0123}, plots.Scale{Low: 0, High: 0.015, Step: 0.005}},
		{"between", []float64{-0.3, 7.2}, plots.Scale{Low: -2, High: 8, Step: 2}},
		{"one value", []float64{3}, plots.Scale{Low: 2.4, High: 3.6, Step: 0.2}},
		{"none", nil, plots.Scale{Low: -0.6, High: 0.6, Step: 0.2}},
		{"no numbers", []float64{math.NaN(), math.Inf(1)}, plots.Scale{Low: -0.6, High: 0.6, Step: 0.2}},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			got := plots.ScaleOf(5, tt.values...)
			assert.InDelta(t, tt.want.Step, got.Step, 1e-9)
			assert.InDelta(t, tt.want.Low, got.Low, 1e-9)
			assert.InDelta(t, tt.want.High, got.High, 1e-9)
			for _, v := range tt.values {
				if !math.IsNaN(v) && !math.IsInf(v, 0) {
					assert.GreaterOrEqual(t, got.At(v), 0.0)
					assert.LessOrEqual(t, got.At(v), 1.0)
				}
			}
		})
	}
}

// A name that has no room beside its figures stands above them, whole.
func TestALongNameOfABarIsWhole(t *testing.T) {
	name := "line A of the outside front encoder broken (turn right): lost"
	b := plots.Bars{Bars: []plots.Bar{{Name: "short", Says: "1 ms", Estimate: 1}, {Name: name, Says: "53.7 ms (51.2 to 56.1)", Estimate: 2}}}
	var out bytes.Buffer
	require.NoError(t, b.SVG(&out))
	assert.Contains(t, out.String(), name)
	assert.Contains(t, out.String(), "53.7 ms (51.2 to 56.1)")
	two := plots.Bars{Bars: []plots.Bar{b.Bars[0], b.Bars[0]}}
	assert.Greater(t, b.Height(), two.Height())
}
