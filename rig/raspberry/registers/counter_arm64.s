#include "textflag.h"

// The barrier has the counter read after all that stands before it: the processor may
// read it ahead of its turn otherwise. A read of the pins that follows cannot go
// ahead of it: they are device memory, of which nothing is read ahead.
//
// func count() uint64
TEXT ·count(SB), NOSPLIT, $0-8
	ISB  $15
	MRS  CNTVCT_EL0, R0
	MOVD R0, ret+0(FP)
	RET

// func countRate() uint64
TEXT ·countRate(SB), NOSPLIT, $0-8
	MRS  CNTFRQ_EL0, R0
	MOVD R0, ret+0(FP)
	RET
