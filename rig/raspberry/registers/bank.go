package registers

// PinBank is 32 lines that are written and read at once; bit n is GPIOn. Its methods
// are called by one goroutine, millions of times a second: they neither block nor
// allocate.
type PinBank interface {
	// Set makes the lines of mask high and leaves the others.
	Set(mask uint32)
	// Clear makes the lines of mask low and leaves the others.
	Clear(mask uint32)
	// Level reads all lines, driven ones included.
	Level() uint32
}
