// Package demo holds what hilrig is tried out with: Bramble, an invented 1:8
// car with four motors, the bench that its board would sit on, the stand for the
// speed controller of one of its motors, and the log of a minute's drive on gravel.
//
// Thistle, an invented 1:10 car for tarmac, has the wires and the policy of the second
// built-in board; [Of] tells which of the two belongs to a board.
//
// Nothing of Bramble was measured, and nothing of Thistle. Its numbers are such as a student club's car
// for loose ground could have; the tyre is chosen so that the single-track
// model's understeer gradient agrees with the one in its policy. Nobody drove
// the drive: the model of the car did, on rough ground, with a scripted driver.
//
// # Units and signs
//
// All files write their units out; axes are those of ISO 8855.
//
// # Time
//
// The log counts seconds from its beginning, 50 rows each.
package demo

import (
	_ "embed"
	"strings"
)

// The names under which the files go in messages and records.
const (
	CarPath   = "demo/bramble.yaml"
	BenchPath = "demo/bramble_bench.yaml"
	LogPath   = "demo/gravel.csv"
	StandPath = "demo/bramble_stand.yaml"

	thistlePath      = "demo/thistle.yaml"
	thistleBenchPath = "demo/thistle_bench.yaml"
)

// Setup is a demo car and the bench of its board, with the paths that they go by in messages.
type Setup struct {
	CarPath, BenchPath string
	Car, Bench         []byte
}

// Paths lists the paths by which the demo's cars, benches and stand go.
func Paths() []string {
	return []string{CarPath, BenchPath, StandPath, thistlePath, thistleBenchPath}
}

// Of returns the demo car and bench for a board of that name, with or without a seeded fault:
// Thistle for "built-in/moment", Bramble for any other.
func Of(board string) Setup {
	if kind, _, _ := strings.Cut(board, ":"); kind == "built-in/moment" {
		return Setup{thistlePath, thistleBenchPath, thistleYAML, thistleBenchYAML}
	}
	return Setup{CarPath, BenchPath, CarYAML, BenchYAML}
}

//go:embed thistle.yaml
var thistleYAML []byte

//go:embed thistle_bench.yaml
var thistleBenchYAML []byte

// CarYAML is the car file of Bramble with its owner's policy.
//
//go:embed bramble.yaml
var CarYAML []byte

// BenchYAML is the bench file of Bramble's board.
//
//go:embed bramble_bench.yaml
var BenchYAML []byte

// StandYAML is the stand file for the speed controller of one of Bramble's motors.
//
//go:embed bramble_stand.yaml
var StandYAML []byte

// LogCSV is the drive log: 50 rows a second of speed, steer angle, yaw rate and
// throttle of a car that has no torque split.
//
//go:embed gravel.csv
var LogCSV []byte
