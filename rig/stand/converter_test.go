package stand

import (
	"sync"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"periph.io/x/conn/v3/i2c"

	"hilrig/rig/signal"
)

func TestTheConverterOnI2C(t *testing.T) {
	w := newWorld(t, "linear", func(s *Settings) { s.Held = Held{Kind: AtSpeed, Speed: 120} }).arm().hold(0.6, 2*signal.Second)
	d := i2c.Dev{Bus: w.stand.I2C(), Addr: 0x40}
	word := func(register byte) float64 {
		var r [2]byte
		require.NoError(t, d.Tx([]byte{register}, r[:]))
		return float64(int16(r[0])<<8 | int16(r[1]))
	}
	voltage, current := w.stand.Truth().Supply(0.6, 120, Up)
	assert.InDelta(t, voltage, word(2)*0.00125, 0.00125)
	assert.InDelta(t, current, word(4)*0.001, 0.001)

	require.NoError(t, d.Tx([]byte{0, 0x12, 0x34}, nil))
	assert.EqualValues(t, 0x1234, word(0), "its settings are read back")
	assert.ErrorContains(t, d.Tx([]byte{4, 1, 2}, nil), "register 0 alone")
	assert.ErrorContains(t, w.stand.I2C().Tx(0x41, []byte{2}, make([]byte, 2)), "0x41")
	assert.EqualValues(t, -1, word(9), "no such register")

	require.NoError(t, w.stand.Restart(w.now))
	assert.Zero(t, word(0))
	assert.InDelta(t, 7.4, word(2)*0.00125, 0.00125, "the pack is there before the first conversion")
	assert.Zero(t, word(4))
}

// The winding's current is the torque by the torque constant; the pack gives duty times as much (as
// TestThePackGivesWhatTheWindingTakes holds).
func TestTheConverterInAPhase(t *testing.T) {
	w := newWorld(t, "linear", func(s *Settings) { s.Held, s.Converter.Phase = Held{Kind: AtSpeed, Speed: 120}, true }).arm().hold(0.6, 2*signal.Second)
	var r [2]byte
	require.NoError(t, w.stand.I2C().Tx(0x40, []byte{4}, r[:]))
	_, supply := w.stand.Truth().Supply(0.6, 120, Up)
	assert.InDelta(t, supply/0.6, float64(int16(r[0])<<8|int16(r[1]))*0.001, 0.01)
}

func TestAConverterThatIsNotThere(t *testing.T) {
	w := newWorld(t, "linear", func(s *Settings) { s.Converter.Absent = true })
	assert.Error(t, w.stand.I2C().Tx(0x40, []byte{2}, make([]byte, 2)))
}

func TestI2CIsSafeForConcurrentUse(t *testing.T) {
	w := newWorld(t, "linear").arm()
	var all sync.WaitGroup
	all.Go(func() {
		for range 1000 {
			assert.NoError(t, w.stand.I2C().Tx(0x40, []byte{2}, make([]byte, 2)))
		}
	})
	w.hold(0.5, signal.Second)
	all.Wait()
}
