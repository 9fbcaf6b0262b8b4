package live

import (
	"errors"
	"syscall"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	bus "periph.io/x/conn/v3/i2c"
	"periph.io/x/conn/v3/physic"

	"hilrig/rig/raspberry/i2c"
	"hilrig/rig/raspberry/realtime"
	"hilrig/rig/signal"
	"hilrig/suites/file"
)

// converters are the registers of converters on a bus, by address and number, as a test sets them.
type converters struct {
	holds  map[[2]int][]byte
	closed int
}

func (c *converters) String() string                  { return "converters" }
func (c *converters) SetSpeed(physic.Frequency) error { return nil }
func (c *converters) Close() error                    { c.closed++; return nil }

func (c *converters) Tx(address uint16, w, r []byte) error {
	data, ok := c.holds[[2]int{int(address), int(w[0])}]
	if !ok {
		return syscall.ENXIO
	}
	copy(r, data)
	return nil
}

func twoSensors() *file.Stand {
	return &file.Stand{Bus: []file.BusSensor{
		{Device: "/dev/i2c-1", Address: 0x40, Quantity: file.BusCurrent, Register: 1, Width: 2, Signed: true, Scale: 1e-3, Rate: 100},
		{Device: "/dev/i2c-1", Address: 0x40, Quantity: file.BusVoltage, Register: 2, Width: 2, Shift: 3, Scale: 4e-3, Rate: 50},
	}}
}

func TestConvertersAreReadAsTheFileSays(t *testing.T) {
	assert.Nil(t, BusOf(&file.Stand{}), "no converter is declared")
	c := &converters{holds: map[[2]int][]byte{{0x40, 1}: {0xFC, 0x18}, {0x40, 2}: {0x39, 0xD0}}}
	clock, opened := new(realtime.Manual), 0
	reader, err := busOf(twoSensors(), func(path string) (bus.BusCloser, error) {
		assert.Equal(t, "/dev/i2c-1", path)
		opened++
		return c, nil
	}, clock)()
	require.NoError(t, err)
	assert.Equal(t, 1, opened, "a bus is opened once for all that is on it")
	count := [2]int{}
	for range 100 {
		for _, r := range reader.AppendNew(nil) {
			require.NoError(t, r.Err)
			assert.InDelta(t, [2]float64{-1.0, 7.4}[r.Sensor], r.Value, 1e-9) // CALC: FC18h is -1000; 39D0h without three bits 1850
			assert.Equal(t, count[r.Sensor], r.Same)
			count[r.Sensor]++
		}
		clock.SleepUntil(clock.Now() + 5*signal.Millisecond)
	}
	assert.Equal(t, [2]int{50, 25}, count, "each at its own rate")
	delete(c.holds, [2]int{0x40, 1})
	clock.SleepUntil(clock.Now() + 10*signal.Millisecond)
	require.ErrorIs(t, reader.AppendNew(nil)[0].Err, i2c.ErrAbsent, "what goes wrong meanwhile is reported")
	reader.Close()
	reader.Close()
	assert.Equal(t, 1, c.closed)
}

// A converter that does not answer is reported before a motor turns.
func TestAConverterThatIsNotThereIsReportedAtOnce(t *testing.T) {
	c := &converters{holds: map[[2]int][]byte{{0x40, 1}: {0, 0}}}
	_, err := busOf(twoSensors(), func(string) (bus.BusCloser, error) { return c, nil }, new(realtime.Manual))()
	require.ErrorIs(t, err, i2c.ErrAbsent)
	require.ErrorContains(t, err, "voltage in register 0x02 at address 0x40: nobody answers")
	assert.Equal(t, 1, c.closed)
	_, err = busOf(twoSensors(), func(string) (bus.BusCloser, error) { return nil, errors.New("no such bus") }, new(realtime.Manual))()
	require.ErrorContains(t, err, "bus_sensor: no such bus")
}
