package report

import (
	"fmt"
	"math"
	"strings"

	"hilrig/rig/signal"
	"hilrig/suites/report/plots"
)

// The size of a characteristic in letters. Both plots have a line for each row, and lines for
// title, heading of the residuals, axis and legend.
const (
	textWidth    = 72
	labelWidth   = 9
	plotWidth    = textWidth - labelWidth - 2
	outputRows   = 9
	residualRows = 7
)

// What stands for a reading that was approached from below, from above, for both in one place,
// for a line, and for a limit.
const (
	markUp    = '^'
	markDown  = 'v'
	markBoth  = '*'
	markLine  = '.'
	markLimit = '-'
	markNone  = 'x'
)

// Text draws the characteristic in letters, 72 columns by 20 lines at most, without blanks at
// the ends of lines: means of up and down over throttle with the first line, and below them the
// residuals from it.
func (c *Characteristic) Text() []string {
	commands, outputs, _ := c.scales()
	top := newGrid(outputRows, commands, outputs)
	if len(c.Lines) > 0 {
		l := &c.Lines[0]
		top.trace(func(command float64) (float64, bool) { return l.at(command / 100), l.covers(command / 100) })
	}
	for _, command := range c.Unread {
		top.put(100*command, outputs.Low, markNone)
	}
	top.points(c.means(false))
	top.points(c.means(true))
	lines := append([]string{c.Title + ", " + c.Held}, top.lines(c.Unit)...)
	if up, down := c.residuals(c.means(false)), c.residuals(c.means(true)); len(up)+len(down) > 0 {
		below := newGrid(residualRows, commands, around(100*c.Band, up, down))
		below.trace(func(float64) (float64, bool) { return 0, true })
		below.limits(100 * c.Band)
		below.points(up)
		below.points(down)
		lines = append(lines, "residuals from the line: "+c.Lines[0].Name)
		lines = append(lines, below.lines("% span")...)
	}
	lines = append(lines, axisLine(commands), c.legend())
	for i := range lines {
		lines[i] = strings.TrimRight(cut(lines[i], textWidth), " ")
	}
	return lines
}

// around returns the scale on which all residuals and the limit have room about 0.
func around(limit float64, residuals ...[]Point) plots.Scale {
	most := max(1.2*limit, 0.1)
	for _, all := range residuals {
		for _, p := range all {
			most = max(most, math.Abs(p.Output))
		}
	}
	return plots.Scale{Low: -most, High: most, Step: most}
}

// cut shortens text to width letters.
func cut(text string, width int) string {
	letters := []rune(text)
	return string(letters[:min(len(letters), width)])
}

// legend says what the letters mean.
func (c *Characteristic) legend() string {
	text := fmt.Sprintf("%c up  %c down  %c both", markUp, markDown, markBoth)
	if len(c.Lines) > 0 {
		text += fmt.Sprintf("  %c line", markLine)
	}
	if c.Band > 0 {
		text += fmt.Sprintf("  %c limit", markLimit)
	}
	if len(c.Unread) > 0 {
		text += fmt.Sprintf("  %c not read", markNone)
	}
	return text
}

// axisLine writes the ticks of the commands under the plots.
func axisLine(commands plots.Scale) string {
	line := []byte(strings.Repeat(" ", textWidth))
	free := 0
	for i, v := range commands.Ticks() {
		if i%2 > 0 {
			continue // every other has room
		}
		text := commands.Number(v) + " %"
		first := labelWidth + 2 + column(commands, v) - len(text)/2
		first = min(first, textWidth-len(text))
		if first >= free {
			copy(line[first:], text)
			free = first + len(text) + 2
		}
	}
	copy(line, "throttle")
	return string(line)
}

// column returns in which column of a plot a command in % stands.
func column(commands plots.Scale, command float64) int {
	return int(math.Round(commands.At(command) * (plotWidth - 1)))
}

// grid is a plot in letters, its first row at the top.
type grid struct {
	rows     [][]rune
	commands plots.Scale
	values   plots.Scale
}

// newGrid returns an empty plot.
func newGrid(rows int, commands, values plots.Scale) *grid {
	g := &grid{commands: commands, values: values, rows: make([][]rune, rows)}
	for i := range g.rows {
		g.rows[i] = []rune(strings.Repeat(" ", plotWidth))
	}
	return g
}

// row returns the row in which a value stands.
func (g *grid) row(value float64) int {
	n := len(g.rows) - 1
	return min(n, max(0, n-int(math.Round(g.values.At(value)*float64(n)))))
}

// put writes a letter; where the other direction stands already it is both.
func (g *grid) put(command, value float64, letter rune) {
	at := &g.rows[g.row(value)][column(g.commands, command)]
	if (*at == markUp && letter == markDown) || *at == markBoth {
		letter = markBoth
	}
	*at = letter
}

// points writes a letter for each point.
func (g *grid) points(all []Point) {
	for _, p := range all {
		letter := markUp
		if p.Down {
			letter = markDown
		}
		g.put(100*p.Command, p.Output, letter)
	}
}

// trace draws what a function of the command in % gives, where it is known.
func (g *grid) trace(of func(command float64) (float64, bool)) {
	for i := range plotWidth {
		command := g.commands.Low + (g.commands.High-g.commands.Low)*float64(i)/(plotWidth-1)
		if value, ok := of(command); ok {
			g.rows[g.row(value)][i] = markLine
		}
	}
}

// limits draws a limit on both sides of 0; where it is 0 there is none.
func (g *grid) limits(limit float64) {
	if !(limit > 0) {
		return
	}
	for _, at := range []float64{-limit, limit} {
		for i := range g.rows[g.row(at)] {
			g.rows[g.row(at)][i] = markLimit
		}
	}
}

// lines returns the rows with the values at their left: the highest, the lowest, and 0 between
// them where it has a row of its own.
func (g *grid) lines(unit string) []string {
	labels := make([]string, len(g.rows))
	last := len(g.rows) - 1
	if g.values.Low < 0 && g.values.High > 0 {
		labels[g.row(0)] = "0"
	}
	labels[0], labels[last] = signal.Digits(g.values.High, 3), signal.Digits(g.values.Low, 3)
	if last > 1 && labels[1] == "" {
		labels[1] = unit
	}
	lines := make([]string, len(g.rows))
	for i, row := range g.rows {
		lines[i] = fmt.Sprintf("%*s |%s", labelWidth, cut(labels[i], labelWidth), string(row))
	}
	return lines
}
