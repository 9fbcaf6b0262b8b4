package realtime_test

import (
	"testing"

	"github.com/stretchr/testify/assert"

	"hilrig/rig/raspberry/realtime"
	"hilrig/rig/signal"
)

func TestManualCallsWhatIsDueInOrder(t *testing.T) {
	var c realtime.Manual
	var seen []string
	note := func(name string) func() { return func() { seen = append(seen, name+" at "+c.Now().String()) } }
	c.At(3*signal.Millisecond, note("c"))
	c.At(2*signal.Millisecond, note("a"))
	c.At(2*signal.Millisecond, note("b"))
	c.At(signal.Millisecond, func() { c.At(signal.Millisecond, note("first")); c.At(5*signal.Millisecond, note("later")) })
	c.SleepUntil(4 * signal.Millisecond)
	at := func(name string, t signal.Time) string { return name + " at " + t.String() }
	assert.Equal(t, []string{
		at("first", signal.Millisecond), at("a", 2*signal.Millisecond), at("b", 2*signal.Millisecond), at("c", 3*signal.Millisecond),
	}, seen)
	assert.Equal(t, 4*signal.Millisecond, c.Now())
	c.SleepUntil(signal.Millisecond)
	assert.Equal(t, 4*signal.Millisecond, c.Now(), "time never goes back")
	c.SleepUntil(5*signal.Millisecond - 1)
	assert.Len(t, seen, 4)
	c.SleepUntil(5 * signal.Millisecond)
	assert.Len(t, seen, 5, "what is due at the very end of a sleep is done")
}

func TestSystemSleepsUntilTheTime(t *testing.T) {
	var c realtime.System
	until := c.Now() + 2*signal.Millisecond
	for c.Now() < until {
		c.SleepUntil(until)
	}
	assert.GreaterOrEqual(t, c.Now(), until)
}
