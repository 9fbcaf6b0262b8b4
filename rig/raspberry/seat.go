package raspberry

// Seat is what the operating system is asked to grant the loop. The zero value
// asks for nothing.
type Seat struct {
	Processor int  // run on this one alone, counted from 1; 0: on any
	Rank      int  // SCHED_FIFO priority, 1 to 99; 0: as any program
	Lock      bool // keep the program's memory in RAM
}
