//go:build !full

package suites

// coverageBoards is how many boards of each class are drawn, of 200 with the tag full.
const coverageBoards = 3
