//go:build full

package suites

// coverageBoards is how many boards of each class are drawn.
const coverageBoards = 200
