//go:build !full

package main_test

// fusing is how many compilers are asked for what they fuse, of 3 with the tag full: that for the Pi. The
// results of the others are held against each other by .ci/digests.
const fusing = 1
