package language

import (
	"fmt"
	"strconv"
	"strings"
)

// The pins of a computer's header. GPIO0 and GPIO1 are read at boot for the identity of a
// board that sits on the header (raspberrypi/documentation, gpio-on-raspberry-pi.adoc).
const (
	firstPin   = 2
	LastPin    = 27
	pinPattern = "^GPIO([2-9]|1[0-9]|2[0-7])$"
)

func (r *Reader) readPin(v *Value, k *Key) {
	number, found := strings.CutPrefix(v.Node.Text, "GPIO")
	n, err := strconv.Atoi(number)
	switch {
	case !found || err != nil || number != strconv.Itoa(n):
		r.reject(v, fmt.Sprintf("%s is %q where a pin is expected", k.Name, Brief(v.Node.Text)), "write its GPIO number like "+k.sampleOne()+"; hilrig wiring shows where it is on the header")
	case n == 0 || n == 1:
		r.reject(v, fmt.Sprintf("%s is on GPIO%d, which the Pi uses at boot to ask a board on its header who it is", k.Name, n), fmt.Sprintf("use one of GPIO%d to GPIO%d", firstPin, LastPin))
	case n < firstPin || n > LastPin:
		r.reject(v, fmt.Sprintf("%s is on %s, which is no pin of the header", k.Name, Brief(v.Node.Text)), fmt.Sprintf("use one of GPIO%d to GPIO%d", firstPin, LastPin))
	default:
		v.Whole = int64(n)
	}
}
