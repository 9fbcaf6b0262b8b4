//go:build full

package suites

// lossCases are what the names of the cases contain that schools are held to which all cases show; "": all of the losses.
const lossCases = ""
