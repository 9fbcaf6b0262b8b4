//go:build full

package suites_test

// healthyBoards is how many healthy boards are drawn.
const healthyBoards = 25
