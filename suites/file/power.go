package file

import "fmt"

// String returns the word for the power level, as in files.
func (p PowerLevel) String() string {
	if int(p) < len(powerWords) {
		return powerWords[p]
	}
	return fmt.Sprintf("power level %d", uint8(p))
}
