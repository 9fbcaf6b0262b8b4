package raspberry

import (
	"strings"

	"hilrig/rig/signal"
)

// groups gives the lines of one encoder one number, and every other line its own.
func groups(layout signal.Layout) []uint8 {
	number := map[string]uint8{}
	out := make([]uint8, len(layout.Lines))
	for i, l := range layout.Lines {
		name := l.Name
		for _, end := range []string{"_a", "_b", "_index"} {
			name = strings.TrimSuffix(name, end)
		}
		n, ok := number[name]
		if !ok {
			n = uint8(len(number))
			number[name] = n
		}
		out[i] = n
	}
	return out
}

// encoders says of each line whether it is of a wheel's encoder that gives edges by
// the angle: up to some hundred thousand a second.
func encoders(layout signal.Layout) []bool {
	out := make([]bool, len(layout.Lines))
	for i, l := range layout.Lines {
		for _, end := range []string{"_a", "_b", "_index", "_tacho"} {
			out[i] = out[i] || strings.HasSuffix(l.Name, end)
		}
	}
	for _, p := range layout.Ports {
		out[p.Line] = false
	}
	return out
}
