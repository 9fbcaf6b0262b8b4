#include "textflag.h"

// func count() uint64
TEXT ·count(SB), NOSPLIT, $0-8
	MRS  CNTVCT_EL0, R0
	MOVD R0, ret+0(FP)
	RET

// func countRate() uint64
TEXT ·countRate(SB), NOSPLIT, $0-8
	MRS  CNTFRQ_EL0, R0
	MOVD R0, ret+0(FP)
	RET
