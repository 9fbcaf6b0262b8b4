package hostlines

// Pull is the resistor inside the chip that holds a line nobody drives.
type Pull uint8

// The pulls.
const (
	PullNone Pull = iota
	PullDown
	PullUp
)

// Lines are the lines of a header one by one, for what is slow: what a line is used
// for, its pull, one level. Lines are named by GPIO number, 0 to 31. The methods are
// called by one goroutine at a time; no line changes but the one that is named.
type Lines interface {
	// Output makes a line an output at level, without a moment at the other.
	Output(gpio int, level bool) error
	// Input makes a line an input.
	Input(gpio int, pull Pull) error
	// Write changes the level of an output.
	Write(gpio int, level bool) error
	// Read reads a line, which stays what it is.
	Read(gpio int) (bool, error)
	// Close gives the lines back. Outputs keep their level, for as long as the chip
	// and its driver keep it: write the safe ones first.
	Close() error
}
