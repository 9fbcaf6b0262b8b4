// Package chardev plays a bench on lines by the kernel's GPIO character device, without
// registers: on a Pi 5 or any other Linux board.
//
// A [Bench] drives lines by calls of the kernel (play.go), and the kernel stamps the edges
// of captured lines (listen.go), up to the rate of OneShot125. What the kernel loses invalidates
// the pulse that it belonged to, and is counted in [Bench.Timing]. A [Trial] measures
// how well a machine does so; [OpenLines] opens lines one by one.
//
// Nothing here has been tried on a real Pi yet.
//
// # Units and signs
//
// Lines of the header are GPIO numbers, those of the chip's maker.
//
// # Time
//
// CLOCK_MONOTONIC, which stamps the edges. All stamps are late by about the same; they differ
// by [StampUncertainty] at most, which is an edge's uncertainty.
package chardev
