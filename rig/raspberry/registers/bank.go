package registers

// Bank is 32 lines that are written and read at once; bit n is GPIOn. Its methods
// are called by one goroutine, millions of times a second: they neither block nor
// allocate.
type Bank interface {
	// Set makes the lines of mask high and leaves the others.
	Set(mask uint32)
	// Clear makes the lines of mask low and leaves the others.
	Clear(mask uint32)
	// Level reads all lines, driven ones included.
	Level() uint32
}

// Pins is the GPIO number of each line of a layout, 0 to 31, by signal.Line.
type Pins []uint8

// NoPin stands for the pin of a line that has none: that of a serial port on a device
// whose wire is not read back.
const NoPin = 255
