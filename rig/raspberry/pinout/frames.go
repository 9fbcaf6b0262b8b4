package pinout

import (
	"fmt"

	"hilrig/rig/decode"
)

// statedTolerance and widestTolerance are the times of a bit that the shares of frames are known for: what a crystal and a
// timer keep, and what is taken where a bench says nothing.
const (
	statedTolerance = 0.02
	widestTolerance = 0.1
)

// FramesRead returns which share of sound frames of a digital kind a loop on registers reads, at least and at most, where
// a turn takes 0.24 to 0.32 us, as it is reckoned to on a Pi 3B+ and a Pi 4B, and turns are up to 15 % longer and
// shorter. Tolerance is how far the board's times of a bit may be from the nominal ones, of a bit; 0 is 10 %.
//
// # Sources
//
// rig/raspberry/DSHOT.md, which a model of loop and board made; a test holds these to it.
func FramesRead(kind decode.MotorKind, tolerance float64) (least, most float64) {
	wide := tolerance == 0 || tolerance > statedTolerance
	switch {
	case kind == decode.DShot600 && wide:
		return 0.035, 0.647
	case kind == decode.DShot600:
		return 0.71, 1
	case kind == decode.DShot300 && wide:
		return 0.997, 1
	}
	return 1, 1
}

// readWords says which share of frames is read.
func readWords(kind decode.MotorKind, tolerance float64) string {
	least, most := FramesRead(kind, tolerance)
	return fmt.Sprintf("%.0f to %.0f %%", 100*least, 100*most)
}

// Fit says how well a line of motor commands is captured, and where not well, why: of digital frames by the times of a bit that
// the board keeps.
func (l *Limits) Fit(m *decode.Motor) (s Support, why string) {
	s, why = l.Motors[m.Kind], l.Reason[m.Kind]
	if s != Marginal || m.Kind != decode.DShot600 {
		return s, why
	}
	const turn = "at the 0.24 to 0.32 us that a turn of the loop is reckoned to take, which hilrig timing measures"
	if t := m.DShot.Tolerance; t > 0 && t <= statedTolerance {
		return s, fmt.Sprintf("with its bit_tolerance %s of its frames are read %s; the rest is left out", readWords(m.Kind, t), turn)
	}
	return s, fmt.Sprintf("with bit times within 10 %% only %s of its frames are read %s; with bit_tolerance: 2 %%, where the board keeps that, %s",
		readWords(m.Kind, widestTolerance), turn, readWords(m.Kind, statedTolerance))
}
