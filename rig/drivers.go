package rig

import "hilrig/stimulus/wire"

// drivers turn the tick's values to edges and frames, each for one driven wire.
type drivers struct {
	encoder [4]wire.WheelEncoder // in the order of plant.Wheels
	duty    []*wire.DutyEncoder  // those of the encoders that send pulses on a grid
	pulse   [3]*receiver         // in the order of trace.SentTo
	message []message
}
