package i2c

import (
	"fmt"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"periph.io/x/conn/v3/driver/driverreg"
	"periph.io/x/conn/v3/i2c/i2creg"
)

func TestTheNumberOfABusStandsInItsPath(t *testing.T) {
	n, err := Number("/dev/i2c-10")
	require.NoError(t, err)
	assert.Equal(t, 10, n)
	for _, path := range []string{"", "1", "/dev/i2c-", "/dev/i2c-01", "/dev/i2c-x", "/dev/i2c--1", "/dev/ttyAMA0", "/dev/i2c-99999"} {
		_, err := Number(path)
		assert.ErrorContains(t, err, "is no I2C bus; write the kernel's device file", path)
	}
}

// No bus has that number; opening it fails with what to do, and no driver is started for it.
func TestABusThatIsNotThereIsRefusedWithARemedy(t *testing.T) {
	_, err := Open("/dev/i2c-65000")
	require.ErrorContains(t, err, "I2C bus /dev/i2c-65000: ")
	require.ErrorContains(t, err, "write dtparam=i2c_arm=on into config.txt")
	_, err = Open("i2c-1")
	require.ErrorContains(t, err, "is no I2C bus")
}

// The registry of drivers cannot be asked what it has without starting them: a driver that could
// not be registered any more would say so that somebody had started them.
func TestOpeningStartsNoDriver(t *testing.T) {
	require.NoError(t, known("/dev/i2c-65001", 65001))
	require.NoError(t, known("/dev/i2c-65001", 65001), "a bus is made known once")
	require.Len(t, i2creg.All(), 1, "no driver looked for buses")
	registered++
	require.NoError(t, driverreg.Register(idle(registered)), "the drivers were started: nothing can be registered any more")
	_, err := i2creg.Open("/dev/i2c-65001")
	require.ErrorContains(t, err, "65001")
}

// registered counts the drivers of this test, whose names may not be the same.
var registered int

// idle is a driver that is never started.
type idle int

func (i idle) String() string        { return fmt.Sprintf("idle %d", int(i)) }
func (idle) Prerequisites() []string { return nil }
func (idle) After() []string         { return nil }
func (idle) Init() (bool, error)     { return false, nil }
