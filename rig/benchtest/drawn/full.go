//go:build full

package drawn

// whole says that all rows are tried, whatever is drawn.
const whole = true
