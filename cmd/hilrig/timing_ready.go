package main

import (
	"context"
	"os"

	"hilrig/rig/decode"
	"hilrig/rig/raspberry"
	"hilrig/rig/raspberry/pinout"
	"hilrig/rig/raspberry/preflight"
	"hilrig/rig/raspberry/realtime"
)

// tryTime lets this machine, which is a model, keep time for a moment by the way that a
// bench on it is played, changing no pin. Edges are a second, of all wheels together.
func tryTime(ctx context.Context, model pinout.Model, kind decode.MotorKind, edges float64) ([]preflight.Finding, error) {
	seat := realtime.DefaultSeat(os.DirFS("/"))
	if model.Limits().Way == pinout.CharacterDevice {
		path, err := raspberry.HeaderChip()
		if err != nil {
			return nil, err
		}
		return preflight.TryCharTime(ctx, path, seat, kind, edges)
	}
	bank, err := raspberry.OpenRegisters(model)
	if err != nil {
		return nil, err
	}
	defer bank.Close()
	return preflight.TryTime(ctx, bank, seat, kind, edges)
}
