package registers

// count returns the virtual count of the generic timer, CNTVCT_EL0, which Linux
// lets programs read.
//
//go:noescape
func count() uint64

// countRate returns the timer's rate in Hz, CNTFRQ_EL0.
//
//go:noescape
func countRate() uint64

// The architecture has the timer on all processors, in step.
func counterFit() bool { return true }

func nanosecondsPerCount() uint64 {
	rate := countRate()
	if rate < 1_000_000 || rate > 10_000_000_000 { // the firmware did not say
		return measureScale()
	}
	return (1_000_000_000<<32 + rate/2) / rate
}
