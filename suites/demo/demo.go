// Package demo holds a car and a bench to try hilrig with: Bramble, an
// invented 1:8 car with four motors, and the bench that its board would sit on.
//
// Nothing of Bramble was measured. Its numbers are such as a student club's car
// for loose ground could have; the tyre is chosen so that the single-track
// model's understeer gradient agrees with the one in its policy.
//
// # Units and signs
//
// Both files write their units out; axes are those of ISO 8855.
package demo

import _ "embed"

// The names under which the two files go in messages and records.
const (
	CarPath   = "demo/bramble.yaml"
	BenchPath = "demo/bramble_bench.yaml"
)

// CarYAML is the car file of Bramble with its owner's policy.
//
//go:embed bramble.yaml
var CarYAML []byte

// BenchYAML is the bench file of Bramble's board.
//
//go:embed bramble_bench.yaml
var BenchYAML []byte
