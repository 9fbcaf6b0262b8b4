package esc

import (
	"sync"

	"periph.io/x/conn/v3/i2c"

	"hilrig/rig/signal"
	"hilrig/rig/stand"
)

// beside is a simulated stand whose converter is read by one goroutine while another runs the stand, as on a
// bench in real time.
type beside struct {
	*stand.Stand
	mu sync.Mutex
}

// Run runs the stand.
func (b *beside) Run(in []signal.Edge, until signal.Time, out []signal.Edge) ([]signal.Edge, error) {
	b.mu.Lock()
	defer b.mu.Unlock()
	return b.Stand.Run(in, until, out)
}

// Restart is a power cycle.
func (b *beside) Restart(at signal.Time) error {
	b.mu.Lock()
	defer b.mu.Unlock()
	return b.Stand.Restart(at)
}

// Close ends the stand.
func (b *beside) Close() error {
	b.mu.Lock()
	defer b.mu.Unlock()
	return b.Stand.Close()
}

// busBeside is the bus of such a stand.
type busBeside struct {
	i2c.Bus
	stand *beside
}

// Tx is a transfer, between two runs of the stand.
func (b busBeside) Tx(address uint16, w, r []byte) error {
	b.stand.mu.Lock()
	defer b.stand.mu.Unlock()
	return b.Bus.Tx(address, w, r)
}
