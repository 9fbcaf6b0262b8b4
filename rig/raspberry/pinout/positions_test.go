package pinout

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"periph.io/x/conn/v3/gpio"
	"periph.io/x/conn/v3/pin"
	"periph.io/x/host/v3/rpi"
)

// The header against another project's table of it: periph.io/x/host, rpi/rpi.go, whose
// variables are set without anything of a Pi.
func TestHolesAgreeWithPeriph(t *testing.T) {
	for i, theirs := range [40]pin.Pin{
		rpi.P1_1, rpi.P1_2, rpi.P1_3, rpi.P1_4, rpi.P1_5, rpi.P1_6, rpi.P1_7, rpi.P1_8, rpi.P1_9, rpi.P1_10,
		rpi.P1_11, rpi.P1_12, rpi.P1_13, rpi.P1_14, rpi.P1_15, rpi.P1_16, rpi.P1_17, rpi.P1_18, rpi.P1_19, rpi.P1_20,
		rpi.P1_21, rpi.P1_22, rpi.P1_23, rpi.P1_24, rpi.P1_25, rpi.P1_26, rpi.P1_27, rpi.P1_28, rpi.P1_29, rpi.P1_30,
		rpi.P1_31, rpi.P1_32, rpi.P1_33, rpi.P1_34, rpi.P1_35, rpi.P1_36, rpi.P1_37, rpi.P1_38, rpi.P1_39, rpi.P1_40,
	} {
		ours := Holes[i]
		if ours.GPIO < 0 {
			names := map[string]pin.Pin{"3.3 V": pin.V3_3, "5 V": pin.V5, "ground": pin.GROUND}
			assert.Equal(t, names[ours.Supply], theirs, "position %d", i+1)
			continue
		}
		assert.Equal(t, theirs.Number(), ours.GPIO, "position %d", i+1)
		assert.Equal(t, theirs.Name(), ours.String(), "position %d", i+1)
		if line, ok := theirs.(gpio.PinIO); assert.True(t, ok, "position %d", i+1) {
			assert.Equal(t, line.DefaultPull() == gpio.PullUp, PulledUp(ours.GPIO), "GPIO%d at power-up", ours.GPIO)
		}
	}
}
