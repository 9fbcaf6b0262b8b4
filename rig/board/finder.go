package board

import (
	"fmt"

	"hilrig/rig/signal"
)

// finder looks lines up by name and keeps the first error.
type finder struct {
	layout signal.Layout
	board  string
	err    error
}

// line returns the line with that name and its idle level.
func (f *finder) line(name string, want signal.Direction) (line signal.Line, idle bool) {
	line, ok := f.layout.Line(name)
	switch {
	case f.err != nil:
		return 0, false
	case !ok:
		f.err = fmt.Errorf("board %s: the layout has no line %q; declare it in the bench file", f.board, name)
		return 0, false
	case f.layout.Lines[line].Direction != want:
		f.err = fmt.Errorf("board %s: line %q is a %v line; the board needs a %v line there", f.board, name, f.layout.Lines[line].Direction, want)
		return 0, false
	}
	return line, f.layout.Lines[line].Idle
}

// newPulser returns a pulser on the four motor lines.
func newPulser(f *finder, period signal.Time) pulser {
	p := pulser{period: period, next: [4]signal.Time{never, never, never, never}, first: never}
	for i, wheel := range wheelNames {
		p.lines[i], p.idle[i] = f.line("motor_"+wheel, signal.Capture)
	}
	return p
}
