// Package demo holds what hilrig is tried out with: Bramble, an invented 1:8
// car with four motors, the bench that its board would sit on, the stand for the
// speed controller of one of its motors, and the log of a minute's drive on gravel.
//
// Nothing of Bramble was measured. Its numbers are such as a student club's car
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

import _ "embed"

// The names under which the files go in messages and records.
const (
	CarPath   = "demo/bramble.yaml"
	BenchPath = "demo/bramble_bench.yaml"
	LogPath   = "demo/gravel.csv"
	StandPath = "demo/bramble_stand.yaml"
)

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
