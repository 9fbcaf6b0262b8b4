package esc

import (
	"sync"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"hilrig/rig/signal"
	"hilrig/rig/stand"
)

// On a bench in real time one goroutine runs the stand while another reads its converter: the race
// detector sees whether they keep apart.
func TestASimulatedConverterIsReadWhileItsStandRuns(t *testing.T) {
	controller, _ := stand.ESCNamed(linearESC)
	s := stand.Demo()
	one, err := stand.New(s, controller)
	require.NoError(t, err)
	both := &beside{Stand: one}
	bus := busBeside{one.I2C(), both}
	var runs sync.WaitGroup
	runs.Go(func() {
		for at := signal.Time(0); at < 100*signal.Millisecond; at += signal.Millisecond {
			_, err := both.Run(nil, at, nil)
			assert.NoError(t, err)
		}
	})
	var data [2]byte
	for range 100 {
		require.NoError(t, bus.Tx(s.Converter.Address, []byte{s.Converter.Voltage.Number}, data[:]))
	}
	runs.Wait()
	require.NoError(t, both.Restart(200*signal.Millisecond))
	require.NoError(t, both.Close())
}
