package chardev

import (
	"errors"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"hilrig/rig/raspberry/hostlines"
)

var errTaken = errors.New("device or resource busy")

// bridged is two lines, 17 and 22, with or without a wire between them.
type bridged struct {
	wire   bool
	held   map[int]bool // by something else
	output map[int]bool // levels
	pull   map[int]bool
	busy   int
	drove  bool
}

func (b *bridged) Output(gpio int, level bool) error {
	b.drove = true
	b.output[gpio] = level
	return nil
}

func (b *bridged) Input(gpio int, pull hostlines.Pull) error {
	if gpio == b.busy {
		return errTaken
	}
	delete(b.output, gpio)
	b.pull[gpio] = pull == hostlines.PullUp
	return nil
}

func (b *bridged) Write(gpio int, level bool) error { b.output[gpio] = level; return nil }

func (b *bridged) Read(gpio int) (bool, error) {
	ends := []int{gpio}
	if b.wire {
		ends = []int{17, 22}
	}
	level := b.pull[gpio]
	for _, from := range []map[int]bool{b.output, b.held} {
		for _, n := range ends {
			if l, ok := from[n]; ok {
				level = l
			}
		}
	}
	return level, nil
}

func (b *bridged) Close() error { return nil }

func TestAJumperIsTriedBeforeItIsUsed(t *testing.T) {
	tests := []struct {
		name   string
		change func(b *bridged)
		want   string
		drove  bool
	}{
		{"there", func(*bridged) {}, "", true},
		{"not there", func(b *bridged) { b.wire = false }, "GPIO17 was driven high and GPIO22 stays low: lay a jumper from pin 11 of the header to pin 15", true},
		{"a board holds one end", func(b *bridged) { b.held[17] = true }, "something holds GPIO17 high, and nothing was driven: take off whatever is wired to GPIO17 to GPIO22 but the jumper", false},
		{"a board holds the other end", func(b *bridged) { b.wire, b.held[22] = false, false }, "something holds GPIO22 low, and nothing was driven", false},
		{"in use", func(b *bridged) { b.busy = 17 }, "busy", false},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			b := &bridged{wire: true, held: map[int]bool{}, output: map[int]bool{}, pull: map[int]bool{}}
			tt.change(b)
			err := Link{17, 22}.checkConnected(b)
			assert.Equal(t, tt.drove, b.drove)
			if tt.want == "" {
				require.NoError(t, err)
				assert.Equal(t, map[int]bool{17: false}, b.output, "driven low")
				require.NoError(t, Link{17, 22}.letGo(b))
			} else {
				require.ErrorContains(t, err, tt.want)
			}
			assert.Empty(t, b.output, "nothing is driven in the end")
		})
	}
}

func TestAJumperIsRefusedWhereItHasNoBusiness(t *testing.T) {
	tests := []struct {
		name string
		Link
		want string
	}{
		{"well", Link{17, 22}, ""},
		{"listening on a line that boots high", Link{17, 5}, ""},
		{"one line", Link{17, 17}, "it joins two lines"},
		{"not on the header", Link{17, 28}, "GPIO28: it is not on the header"},
		{"below 0", Link{-1, 17}, "it is not on the header"},
		{"the serial port's output", Link{14, 17}, "GPIO14: it belongs to the serial port"},
		{"the serial port's input", Link{17, 15}, "GPIO15: it belongs to the serial port"},
		{"driving what boots high", Link{5, 17}, "GPIO5: it is high from power-up"},
		{"a memory of what is plugged on", Link{17, 1}, "GPIO1: the Pi asks there"},
		{"a bus with resistors", Link{2, 17}, "GPIO2: a resistor"},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			if err := tt.Check(); tt.want == "" {
				assert.NoError(t, err)
			} else {
				assert.ErrorContains(t, err, tt.want)
			}
		})
	}
}
