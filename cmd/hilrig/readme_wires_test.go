package main

import (
	"fmt"
	"os"
	"path/filepath"
	"strconv"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// The stretch of the case that suites/README.md shows, in units of 100 ns from the case's
// start: all kinds of wires have something to show in it.
const (
	stretchFrom = 15_300_000
	stretchTo   = 15_345_000
)

// drawnWires are the wires of the picture, each in the colour that its kind has in the drawing of
// the header.
var drawnWires = []struct{ name, colour string }{
	{"front_left_a", "#2563a8"}, {"front_left_b", "#2563a8"}, {"yaw_serial", "#0f766e"},
	{"steer", "#8a4fa3"}, {"throttle", "#8a4fa3"},
	{"motor_front_left", "#b35c00"}, {"motor_front_right", "#b35c00"}, {"motor_rear_left", "#b35c00"}, {"motor_rear_right", "#b35c00"},
}

// The picture of a case's wires in the guide is drawn from the dump that report writes.
func TestTheGuideShowsTheWiresOfACase(t *testing.T) {
	t.Setenv("XDG_STATE_HOME", t.TempDir())
	const only = "understeer turns torque in (turn left, speed near 4 m/s"
	dumped := filepath.Join(t.TempDir(), "wires.vcd")
	output(t, exitGo, "run", "split", "--only", only)
	output(t, exitGo, "report", "--only", only, "--vcd", dumped)
	dump, err := os.ReadFile(dumped)
	require.NoError(t, err)
	wires := readDump(t, string(dump))

	// By hand: the demo car steers to the left with too little yaw rate, so that the wheel inside
	// at the front has less and the wheel outside at the rear more than the throttle's 1250 us.
	widths := map[string]int{}
	for name, w := range wires {
		if at, width := w.pulse(); at >= stretchFrom {
			widths[name] = width / 10
		}
	}
	assert.Less(t, widths["motor_front_left"], 1150)
	assert.Greater(t, widths["motor_rear_right"], 1350)
	for _, same := range []string{"throttle", "motor_front_right", "motor_rear_left"} {
		assert.InDelta(t, 1250, widths[same], 1, same)
	}
	isPicture(t, "suites/wires.svg", drawWires(wires, "torque split: understeer turns torque in, turn left at 4 m/s"))
}

// changes are what one wire of a dump does: the level that it begins with and when it turns.
type changes struct {
	high bool
	at   []int
}

// pulse returns when the first whole pulse of the stretch begins and how long it is.
func (c *changes) pulse() (at, length int) {
	high := c.high
	for i, t := range c.at {
		high = !high
		if high && t >= stretchFrom && i+1 < len(c.at) && c.at[i+1] <= stretchTo {
			return t, c.at[i+1] - t
		}
	}
	return -1, 0
}

// readDump reads a value change dump of scalar wires (IEEE 1364-2005, clause 18).
func readDump(t *testing.T, dump string) map[string]*changes {
	header, rest, found := strings.Cut(dump, "$enddefinitions $end\n")
	require.True(t, found)
	names, wires := map[string]string{}, map[string]*changes{}
	for line := range strings.Lines(header) {
		if f := strings.Fields(line); f[0] == "$var" {
			names[f[3]] = f[4]
		}
	}
	now := 0
	for line := range strings.Lines(rest) {
		line = strings.TrimSpace(line)
		switch line[0] {
		case '#':
			var err error
			now, err = strconv.Atoi(line[1:])
			require.NoError(t, err)
		case '0', '1':
			name, high := names[line[1:]], line[0] == '1'
			require.NotEmpty(t, name, line)
			if wires[name] == nil {
				wires[name] = &changes{high: high}
				continue
			}
			wires[name].at = append(wires[name].at, now)
		}
	}
	return wires
}

// drawWires returns the stretch of the wires as SVG, under words that say what it is of.
func drawWires(wires map[string]*changes, words string) []byte {
	const (
		left, right, top = 150, 730, 66
		row, halfHeight  = 36, 18
	)
	x := func(t int) float64 { return left + (right-left)*float64(t-stretchFrom)/(stretchTo-stretchFrom) }
	bottom := top + row*len(drawnWires)
	var b strings.Builder
	fmt.Fprintf(&b, "<svg xmlns=\"http://www.w3.org/2000/svg\" width=\"760\" height=\"%d\" viewBox=\"0 0 760 %d\" font-family=\"sans-serif\" font-size=\"13\">\n", bottom+48, bottom+48)
	fmt.Fprintf(&b, "<rect width=\"760\" height=\"%d\" fill=\"#ffffff\"/>\n", bottom+48)
	fmt.Fprintf(&b, "<text x=\"380\" y=\"28\" text-anchor=\"middle\" font-size=\"16\" font-weight=\"bold\">%s</text>\n", words)
	for t := stretchFrom; t <= stretchTo; t += 5000 {
		fmt.Fprintf(&b, "<path d=\"M%.1f %dV%d\" stroke=\"#dfe4ea\"/>", x(t), top-12, bottom)
		fmt.Fprintf(&b, "<text x=\"%.1f\" y=\"%d\" text-anchor=\"middle\" fill=\"#5b6472\">%.1f</text>\n", x(t), bottom+18, float64(t)/1e4)
	}
	fmt.Fprintf(&b, "<text x=\"%d\" y=\"%d\" text-anchor=\"middle\" fill=\"#5b6472\">time from the start of the case in ms</text>\n", (left+right)/2, bottom+38)
	for i, drawn := range drawnWires {
		w, low := wires[drawn.name], top+row*i+halfHeight
		level := func(high bool) int {
			if high {
				return low - halfHeight
			}
			return low
		}
		high := w.high
		var path strings.Builder
		for _, t := range w.at {
			if t >= stretchTo {
				break
			}
			if t > stretchFrom {
				if path.Len() == 0 {
					fmt.Fprintf(&path, "M%d %d", left, level(high))
				}
				fmt.Fprintf(&path, "H%.1fV%d", x(t), level(!high))
			}
			high = !high
		}
		fmt.Fprintf(&b, "<text x=\"%d\" y=\"%d\" text-anchor=\"end\">%s</text>", left-12, low-4, drawn.name)
		fmt.Fprintf(&b, "<path d=\"%sH%d\" fill=\"none\" stroke=\"%s\" stroke-width=\"1.3\"/>", path.String(), right, drawn.colour)
		if at, width := w.pulse(); width > 10_000 {
			fmt.Fprintf(&b, "<text x=\"%.1f\" y=\"%d\" text-anchor=\"middle\" fill=\"%s\">%.1f us</text>", x(at+width/2), low-4, drawn.colour, float64(width)/10)
		}
		b.WriteString("\n")
	}
	b.WriteString("</svg>\n")
	return []byte(b.String())
}
