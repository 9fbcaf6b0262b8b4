//go:build linux && gpiovm

package cdev

import (
	"os"
	"regexp"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"golang.org/x/sys/unix"
)

const tracing = "/sys/kernel/tracing/"

// driven runs do and returns every level that the kernel drove meanwhile, on
// any line, by its own trace points (Linux, include/trace/events/gpio.h).
func driven(t *testing.T, do func()) (levels []string) {
	t.Helper()
	write(t, tracing+"trace", "")
	write(t, tracing+"events/gpio/gpio_value/enable", "1")
	do()
	write(t, tracing+"events/gpio/gpio_value/enable", "0")
	text, err := os.ReadFile(tracing + "trace")
	require.NoError(t, err)
	for _, found := range regexp.MustCompile(`gpio_value: \d+ set (\d)`).FindAllSubmatch(text, -1) {
		levels = append(levels, string(found[1]))
	}
	return levels
}

func TestAnOutputBeginsAtItsLevelWithoutADip(t *testing.T) {
	s := simulate(t, 4)
	c := s.open()
	s.pull(0, true)
	s.pull(2, true)
	var out *Outputs
	levels := driven(t, func() {
		var err error
		out, err = c.Outputs("high", []uint32{2, 0}, 0b11)
		require.NoError(t, err)
	})
	defer out.Close()
	assert.Equal(t, []string{"1", "1"}, levels)
	assert.True(t, s.level(0) && s.level(2))

	levels = driven(t, func() {
		low, err := c.Outputs("mixed", []uint32{1, 3}, 0b10)
		require.NoError(t, err)
		defer low.Close()
		assert.False(t, s.level(1))
		assert.True(t, s.level(3))
	})
	assert.Equal(t, []string{"0", "1"}, levels)
}

func TestSetDrivesTheLinesOfTheMaskAlone(t *testing.T) {
	s := simulate(t, 8)
	out, err := s.open().Outputs("set", []uint32{7, 0, 3}, 0b001)
	require.NoError(t, err)
	defer out.Close()
	for _, row := range []struct {
		name               string
		mask, levels, want uint64
	}{
		{"raise one", 0b010, 0b010, 0b011},
		{"levels beyond the mask are left", 0b100, 0b100, 0b111},
		{"two at once, each its way", 0b011, 0b001, 0b101},
		{"nothing", 0, 0b111, 0b101},
		{"bits beyond the lines", 1 << 9, 1 << 9, 0b101},
		{"all low", 0b111, 0, 0},
	} {
		require.NoError(t, out.Set(row.mask, row.levels), row.name)
		got, err := out.Levels()
		require.NoError(t, err)
		assert.Equal(t, row.want, got, row.name)
		for i, line := range []uint32{7, 0, 3} {
			assert.Equal(t, row.want>>i&1 == 1, s.level(line), "%s: line %d by the chip", row.name, line)
		}
	}
	assert.Zero(t, testing.AllocsPerRun(100, func() {
		if err := out.Set(0b111, 0b101); err != nil {
			t.Error(err)
		}
		if _, err := out.Levels(); err != nil {
			t.Error(err)
		}
	}))
}

func TestTheChipReportsItselfAndItsLines(t *testing.T) {
	s := simulate(t, 4)
	c := s.open()
	info := c.Info()
	assert.Equal(t, "simulated wires", info.Label)
	assert.Equal(t, 4, info.Lines)
	assert.Equal(t, s.device, "/dev/"+info.Name)

	line, err := c.Line(1)
	require.NoError(t, err)
	assert.Equal(t, LineInfo{Name: "second"}, line)
	out, err := c.Outputs("somebody with a name that is far too long", []uint32{1}, 0)
	require.NoError(t, err)
	line, err = c.Line(1)
	require.NoError(t, err)
	assert.Equal(t, LineInfo{Name: "second", User: "somebody with a name that is fa", Used: true, IsOutput: true}, line)
	require.NoError(t, out.Close())

	_, err = c.Line(4)
	require.ErrorIs(t, err, unix.EINVAL)
}
