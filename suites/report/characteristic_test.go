package report

import (
	"bytes"
	"encoding/xml"
	"io"
	"math"
	"regexp"
	"strings"
	"testing"
	"unicode/utf8"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// distortedCharacteristic returns 3 cycles of a controller that gives its torque late, has some
// hysteresis and did not reach its speed at the lowest levels.
func distortedCharacteristic() *Characteristic {
	c := &Characteristic{
		Title: "torque over throttle", Held: "speed 120 rad/s", Output: "torque", Unit: "N m", Span: 1,
		Lines: []StraightLine{
			{Name: "independent", Intercept: -0.05, Slope: 1.02, Low: 0.2, High: 1},
			{Name: "least squares", Intercept: -0.045, Slope: 1.01, Low: 0.2, High: 1},
			{Name: "terminal-based", Intercept: -0.1, Slope: 1.1, Low: 0.2, High: 1},
			{Name: "zero-based", Intercept: -0.1, Slope: 1.08, Low: 0.2, High: 1},
		},
		Band: 0.02, Unread: []float64{0, 0.05, 0.1, 0.15},
	}
	for cycle := range 3 {
		for i := 4; i <= 20; i++ {
			x := float64(i) / 20
			y := x - 0.03*math.Sin(3*math.Pi*x) + 0.002*float64(cycle-1)
			c.Points = append(c.Points, Point{x, y, false}, Point{x, y + 0.012, true})
		}
	}
	return c
}

// The plots have the readings at their places: 0 and 1.2 N m stand nine rows apart, so that a
// row is 0.15 N m; at 95 % up and down are a row apart.
func TestCharacteristicAsText(t *testing.T) {
	assert.Equal(t, strings.TrimPrefix(`
torque over throttle, speed 120 rad/s
      1.2 |
      N m |                                                            *
          |                                                   v..*..*...
          |                                          *..*..*..^
          |                              *  *..*..*...
          |                        * .*......
          |               * .*..*....
          |            *....
        0 |x  x  x  x
residuals from the line: independent
      8.2 |                        v  v  *  v
   % span |                  v  *  ^  ^     ^  *  *                    v
          |------------*--*--^-----------------------*--*--v--v--v--*--^
        0 |................................................^..^..^......
          |-------------------------------------------------------------
          |
     -8.2 |
throttle  0 %        20 %        40 %        60 %        80 %      100 %
^ up  v down  * both  . line  - limit  x not read`, "\n"), strings.Join(distortedCharacteristic().Text(), "\n"))
}

func TestCharacteristicWithLittleInIt(t *testing.T) {
	for _, test := range []struct {
		name string
		c    Characteristic
	}{
		{"nothing", Characteristic{}},
		{"one reading", Characteristic{Points: []Point{{0.5, 1, false}}}},
		{"the same all over", Characteristic{Points: []Point{{0, 0, false}, {1, 0, true}}, Lines: []StraightLine{{High: 1}}, Span: 0}},
		{"a line and no span", Characteristic{Points: []Point{{0.5, 1, false}}, Lines: []StraightLine{{Intercept: 1, High: 1}}}},
		{"two directions", Characteristic{Points: []Point{{-1, -0.4, false}, {1, 0.4, false}}, Lines: []StraightLine{{Slope: 0.4, Low: -1, High: 1}}, Span: 0.8, Band: 0.01}},
		{"long words", Characteristic{Title: strings.Repeat("torque ", 30), Held: "locked", Unit: strings.Repeat("m", 30), Points: []Point{{0, 0, false}, {1, 1e9, false}}}},
	} {
		t.Run(test.name, func(t *testing.T) {
			lines := test.c.Text()
			assert.LessOrEqual(t, len(lines), 20)
			for _, line := range lines {
				assert.LessOrEqual(t, utf8.RuneCountInString(line), 72)
			}
			svg, err := test.c.SVG()
			require.NoError(t, err)
			assert.NotContains(t, string(svg), "NaN")
		})
	}
}

// What is drawn of which form, so that nothing is told by colour alone; and every letter is text.
func TestCharacteristicAsSVG(t *testing.T) {
	c := distortedCharacteristic()
	svg, err := c.SVG()
	require.NoError(t, err)
	again, err := c.SVG()
	require.NoError(t, err)
	assert.Equal(t, svg, again)

	texts := textsOf(t, svg)
	for _, want := range []string{"torque over throttle", "speed 120 rad/s", "torque, N m", "independent", "least squares", "terminal-based", "zero-based", "limit, 2 % of span, independent", "not read at this level", "residual, % of span", "throttle, %", "100"} {
		assert.Contains(t, texts, want)
	}
	const up, down = "fill:#1F5F8B", "fill:none;stroke:#C46A1B;stroke-width:0.9"
	levels := len(c.means(false))
	assert.Equal(t, 2*levels+1+3*levels, strings.Count(string(svg), up), "full marks of two panels and the legend, and a dot for each reading")
	assert.Equal(t, 2*levels+1, strings.Count(string(svg), down), "empty ones")

	c.Lines = nil
	svg, err = c.SVG()
	require.NoError(t, err)
	assert.NotContains(t, textsOf(t, svg), "residual, % of span")
}

// The legend moves to where fewer readings are.
func TestLegendOfACharacteristicLeavesItsReadingsFree(t *testing.T) {
	place := func(c *Characteristic) string {
		svg, err := c.SVG()
		require.NoError(t, err)
		return regexp.MustCompile(`<text x="([0-9.]+)"[^>]*>up, mean`).FindStringSubmatch(string(svg))[1]
	}
	steep := &Characteristic{}
	for i := range 21 {
		steep.Points = append(steep.Points, Point{float64(i) / 20, math.Sqrt(float64(i) / 20), false})
	}
	assert.NotEqual(t, place(distortedCharacteristic()), place(steep))
}

// textsOf returns what an SVG says in letters.
func textsOf(t *testing.T, svg []byte) (texts []string) {
	t.Helper()
	d := xml.NewDecoder(bytes.NewReader(svg))
	for inside := false; ; {
		token, err := d.Token()
		if err == io.EOF {
			return texts
		}
		require.NoError(t, err)
		switch x := token.(type) {
		case xml.StartElement:
			inside = x.Name.Local == "text"
		case xml.CharData:
			if inside {
				texts = append(texts, strings.TrimSpace(string(x)))
			}
		case xml.EndElement:
			inside = false
		}
	}
}
