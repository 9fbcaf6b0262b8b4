package esc_test

import (
	"testing"

	"github.com/stretchr/testify/assert"

	"hilrig/assertions/characteristic"
	"hilrig/rig"
	"hilrig/rig/board"
	"hilrig/rig/decode"
	"hilrig/rig/raspberry/hostlines"
	"hilrig/rig/raspberry/realtime"
	"hilrig/rig/raspberry/registers"
	"hilrig/rig/signal"
	"hilrig/suites"
	"hilrig/suites/esc"
	"hilrig/suites/record"
)

// bank is the simulated stand behind a bank in memory, on a clock from outside.
func bank(turns *registers.Turns) *suites.Real {
	return &suites.Real{
		Kind: "memory bank", Board: true, Waits: true,
		Open: func(layout signal.Layout, b board.Board) (rig.Bench, error) {
			pins := make(hostlines.Pins, len(layout.Lines))
			for i := range pins {
				pins[i] = uint8(i)
			}
			m, err := registers.NewSimulatedPinBank(b, layout, pins)
			if err != nil {
				return nil, err
			}
			return registers.New(registers.Settings{Settings: hostlines.Settings{Layout: layout, Pins: pins, Formats: []decode.MotorKind{decode.ServoPulse}}, PinBank: m, Time: turns})
		},
	}
}

// Sampled as on a Pi's registers, the even controller comes to what it does in virtual time.
func TestABankInMemoryGivesTheSameLinearity(t *testing.T) {
	long(t)
	s := standFile(t, "plan: {margin: 20 %}", quick)
	out := run(t, &esc.Setup{Stand: s, Seed: 1, Real: bank(&registers.Turns{Clock: new(realtime.Manual), Turn: 500})})
	assert.Empty(t, out.Events)
	for key, verdict := range verdicts(out) {
		assert.NotEqual(t, record.Fail, verdict, key)
	}
	assert.Equal(t, "memory bank", out.Result.Real)
	exact := run(t, &esc.Setup{Stand: s, Seed: 1})
	a, b := figure(out, 0, characteristic.KeyIndependent), figure(exact, 0, characteristic.KeyIndependent)
	assert.InDelta(t, b.Estimate, a.Estimate, 0.002)
}

// On a bench whose time goes on by itself readings are worked out beside the loop, which plays idle meanwhile.
func TestReadingsAreWorkedOutBesideTheLoopSafeForConcurrentUse(t *testing.T) {
	s := standFile(t, "plan: {margin: 20 %}", quick)
	var w wires
	real := on(&w, nil)
	real.Waits = false
	out := run(t, &esc.Setup{Stand: s, Seed: 1, Real: real})
	assert.Equal(t, "pass", verdicts(out)[characteristic.KeyIndependent])
	assert.True(t, out.AtRest)
	w.endsAtIdle(t)
}
