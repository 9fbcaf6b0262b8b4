package registers

// count returns the virtual count of the generic timer, CNTVCT_EL0, which Linux
// lets programs read, as of when all that stands before it is done.
//
// Source: "a read to CNTPCT_EL0 can occur speculatively and out of order relative to other
// instructions executed on the same PE", Arm Architecture Reference Manual, ARM DDI 0487C.a,
// D8.2.1, as quoted in Xen's patch "xen/arm: Add an isb() before reading CNTPCT_EL0". READ
// there; Linux has the same barrier before CNTVCT_EL0 (arch/arm64/include/asm/arch_timer.h).
//
//go:noescape
func count() uint64

// countRate returns the timer's rate in Hz, CNTFRQ_EL0.
//
//go:noescape
func countRate() uint64

// uninterrupted says what a loop lacks here: nothing, no call tells it the time.
var uninterrupted []string

// The architecture has the timer on all processors, in step.
func counterFit() bool { return true }

func nanosecondsPerCount() uint64 {
	rate := countRate()
	if rate < 1_000_000 || rate > 10_000_000_000 { // the firmware did not say
		return measureScale()
	}
	return (1_000_000_000<<32 + rate/2) / rate
}
