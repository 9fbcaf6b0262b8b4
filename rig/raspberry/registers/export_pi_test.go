//go:build pivm

package registers

// What the tests of what stands on this package need of an emulated Pi.
const FunctionInput = functionInput

var (
	OpenPi     = openPi
	BenchLines = benchLines
	BenchPins  = benchPins
	Kernel     = kernel
)

// FunctionOf returns what a line is used for.
func (r *Registers) FunctionOf(gpio int) uint32 { return uint32(r.functionOf(gpio)) }
