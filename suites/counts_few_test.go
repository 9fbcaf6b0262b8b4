//go:build !full

package suites_test

// healthyBoards is how many healthy boards are drawn, orders in how many orders
// cases are played.
const (
	healthyBoards = 4
	orders        = 1
)

// nullSuites are what boards are held to that control nothing; nil: all.
var nullSuites = []string{"split", "demand", "limits", "losses", "replay", "drive"}
