package characteristic

import (
	"bufio"
	"fmt"
	"io"
	"math"
	"regexp"
	"strconv"
	"strings"
)

// CSV writes the table as comma-separated values: a row with the names of the columns, then
// one row for each entry, both columns as shares 0..1 with six decimals.
func (t *Table) CSV(w io.Writer) error {
	b := bufio.NewWriter(w)
	fmt.Fprintln(b, "output_share,command")
	for i := range t.In {
		fmt.Fprintf(b, "%s,%s\n", share(t.In[i]), share(t.Out[i]))
	}
	return b.Flush()
}

func share(x float64) string { return strconv.FormatFloat(x, 'f', 6, 64) }

// full stands for a share of 1 in the C table.
const full = 65535

var identifier = regexp.MustCompile(`^[a-z_][a-z0-9_]*$`)

// C writes the table as a C99 header that firmware includes: how many entries there are and two arrays of
// uint16_t, of shares of output and of commands, 65535 being 1. name is what the names of the three
// begin with: lower-case letters, digits and underscores, "throttle_table" for instance. Entries
// that 16 bits cannot tell apart are written once.
func (t *Table) C(w io.Writer, name string) error {
	if !identifier.MatchString(name) {
		return fmt.Errorf("%q cannot begin a name in C: use lower-case letters, digits and underscores", name)
	}
	var in, out []string
	last := -1
	for i := range t.In {
		a, b := sixteen(t.In[i]), sixteen(t.Out[i])
		if a == last && i+1 < len(t.In) {
			continue
		}
		if a == last { // the last entry is the one that has to stand
			in, out = in[:len(in)-1], out[:len(out)-1]
		}
		last = a
		in, out = append(in, strconv.Itoa(a)), append(out, strconv.Itoa(b))
	}
	b := bufio.NewWriter(w)
	upper := strings.ToUpper(name)
	fmt.Fprintf(b, `/* Correction table of a speed controller's throttle, measured at: %s.
 *
 * %s_output[i] is a share of the output between the start threshold (0) and
 * saturation (65535); %s_command[i] is the throttle that gives it, 65535
 * being full throttle. Both ascend. Between two entries take the straight line, below
 * the first and above the last one their commands.
 *
 * It holds for the controller, motor, supply and condition that it was measured
 * with. An output of 0 asks for idle, which is not the first entry. Try it with the
 * wheels off the ground.
 */
#ifndef %s_H
#define %s_H

#include <stdint.h>

#define %s_LENGTH %d

`, comment(t.Held), name, name, upper, upper, upper, len(in))
	array := func(of string, values []string) {
		fmt.Fprintf(b, "static const uint16_t %s_%s[%s_LENGTH] = {\n", name, of, upper)
		for i := 0; i < len(values); i += 8 {
			fmt.Fprintf(b, "    %s,\n", strings.Join(values[i:min(i+8, len(values))], ", "))
		}
		fmt.Fprint(b, "};\n\n")
	}
	array("output", in)
	array("command", out)
	fmt.Fprintf(b, "#endif\n")
	return b.Flush()
}

// sixteen returns a share in 16 bits.
func sixteen(x float64) int { return int(math.Round(min(max(x, 0), 1) * full)) }

// comment makes words safe within a comment in C.
func comment(words string) string {
	words = strings.Join(strings.Fields(words), " ")
	return strings.ReplaceAll(strings.ReplaceAll(words, "*/", "* /"), "/*", "/ *")
}
