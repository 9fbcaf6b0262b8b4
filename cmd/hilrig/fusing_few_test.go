//go:build !full

package main_test

// fusing is how many compilers are asked for what they fuse, of 3 with the tag full: none here, as it compiles all anew. The
// step long of CI asks that for the Pi; the results of the others are held against each other by .ci/digests.
const fusing = 0
