package pinout

import (
	"fmt"
	"io"
	"strings"
)

// WriteTable writes the wiring table as text.
func WriteTable(w io.Writer, rows []Wire) {
	const form = "%-26s %-7s %-4s %-4s %-54s %s\n"
	fmt.Fprintf(w, form, "signal", "GPIO", "pin", "", "from the pin to a board of 5 V", "at boot")
	for _, r := range rows {
		gpio, position := "-", "-"
		if r.GPIO > 0 {
			gpio, position = GPIO(r.GPIO), fmt.Sprint(r.Position)
		}
		fmt.Fprintf(w, form, r.Signal, gpio, position, r.Direction, chainText(r.Chain), r.Boot)
	}
}

// wiresAt returns what is wired to each position of the header, nil where nothing is;
// index 0 is position 1.
func wiresAt(rows []Wire) (at [40]*Wire) {
	for i := range rows {
		if r := &rows[i]; r.Position > 0 {
			at[r.Position-1] = r
		}
	}
	return at
}

// belongsAt says what a position belongs to that no wire leads to, empty where it is
// free; index 0 is position 1.
// A serial port of the chip has two lines together: whatever sends by the one has the other
// too, so that it is not free.
func belongsAt(rows []Wire) (at [40]string) {
	wired := wiresAt(rows)
	for i := range rows {
		r := &rows[i]
		if _, chips := Pi4.UARTAt(r.GPIO); r.Group != Serial || r.Direction != Out || !chips {
			continue
		}
		if other := Position(r.GPIO+1) - 1; wired[other] == nil {
			at[other] = r.Signal + ": RX, not wired"
		}
	}
	return at
}

// WriteHeader draws the header as text, seen from above. Arrows point the way that
// the signal goes.
func WriteHeader(w io.Writer, rows []Wire) {
	at, belongs := wiresAt(rows), belongsAt(rows)
	for i := 0; i < 40; i += 2 {
		left, right := belongs[i], belongs[i+1]
		if right != "" {
			right = "      " + right
		}
		if r := at[i]; r != nil {
			left = r.Signal + map[Direction]string{Out: " <--", In: " -->"}[r.Direction]
		}
		if r := at[i+1]; r != nil {
			right = map[Direction]string{Out: "  --> ", In: "  <-- "}[r.Direction] + r.Signal
		}
		line := fmt.Sprintf("%30s  %6s  %2d | %-2d  %-6s%s", left, Holes[i], i+1, i+2, Holes[i+1], right)
		fmt.Fprintln(w, strings.TrimRight(line, " "))
	}
}
