//go:build full

package main_test

// fusing is how many compilers are asked for what they fuse.
const fusing = 3
