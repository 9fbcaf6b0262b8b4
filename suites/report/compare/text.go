package compare

import (
	"fmt"
	"io"
	"slices"
	"strings"
	"unicode"

	"hilrig/rig/signal"
	"hilrig/suites/record"
	"hilrig/suites/report"
)

// mostLines is how many lines of one kind are written without all.
const mostLines = 8

// Text writes the comparison for a person: what changed beside the board, the causes, what is not the same and
// follows from none, the least room, and the counts; with all also each check that differs.
func (c *Comparison) Text(w io.Writer, all bool) {
	for _, s := range c.Changed {
		fmt.Fprintf(w, "not comparable: %s\n", s)
	}
	for i := range c.Causes {
		c.writeCause(w, &c.Causes[i], all)
	}
	for _, k := range Kinds {
		c.writeKind(w, k, all)
	}
	c.writeRoom(w)
	var counts []string
	for _, k := range Kinds {
		if n := c.Counts[k]; n > 0 {
			counts = append(counts, fmt.Sprintf("%d %s", n, k))
		}
	}
	if len(counts) > 0 {
		fmt.Fprintf(w, "checks: %s\n", strings.Join(counts, ", "))
		fmt.Fprintf(w, "A difference counts beyond the uncertainty of both, at a level of %g %% for the whole: half of it for %d causes,\nhalf for %d comparisons of checks (Bonferroni).\n",
			c.Level.Level*100, c.Level.Causes, c.Level.Comparisons)
	}
	if c.Alongs > 0 {
		fmt.Fprintf(w, "In %d cases both played the same; there the commands were compared all along.\n", c.Alongs)
	}
}

// writeCause writes a cause with what follows from it.
func (c *Comparison) writeCause(w io.Writer, k *Cause, all bool) {
	fmt.Fprintf(w, "%s: %s %s%s\n", k.Kind, k.Name, between(&k.Before, &k.After, k.High-k.Low, k.Unit), grown(k))
	if k.Follows == 0 {
		return
	}
	var follows []string
	for _, kind := range Kinds {
		names := map[string]int{}
		var order []string
		for i := range c.Changes {
			if x := &c.Changes[i]; x.Follows == k.Name && x.Kind == kind {
				if names[about(x.Check)] == 0 {
					order = append(order, about(x.Check))
				}
				names[about(x.Check)]++
			}
		}
		for _, name := range order {
			follows = append(follows, fmt.Sprintf("%d %s %s", names[name], plain(name), kind))
		}
	}
	fmt.Fprintf(w, "    from it follow: %s%s\n", strings.Join(follows, ", "), hint(all))
	if all {
		for i := range c.Changes {
			if x := &c.Changes[i]; x.Follows == k.Name {
				fmt.Fprintf(w, "    %s: %s\n", x.Kind, x.line())
			}
		}
	}
}

func hint(all bool) string {
	if all {
		return ""
	}
	return " (--all lists them)"
}

// grown says by how much of itself a shift or a demand differs.
func grown(k *Cause) string {
	if k.Before == 0 || k.Unit != "%" && k.Unit != "deg/s" {
		return ""
	}
	share := (k.After/k.Before - 1) * 100
	half := (k.High - k.Low) / 2 / k.Before * 100
	word := "larger"
	if share < 0 {
		share, word = -share, "smaller"
	}
	n := report.Decimals(half)
	return fmt.Sprintf(" (%s %% %s, to ± %s)", report.Fixed(share, n), word, report.Fixed(half, n))
}

// writeKind writes what is of a kind and follows from no cause: each, or without all the first of each check of a suite
// with how many more there are.
func (c *Comparison) writeKind(w io.Writer, kind Kind, all bool) {
	type group struct {
		first *Change
		more  int
	}
	var groups []*group
	known := map[string]*group{}
	for i := range c.Changes {
		x := &c.Changes[i]
		if x.Kind != kind || x.Follows != "" {
			continue
		}
		name := x.Suite + "\x00" + x.Check
		if g := known[name]; g != nil && !all {
			g.more++
			continue
		}
		known[name] = &group{first: x}
		groups = append(groups, known[name])
	}
	for n, g := range groups {
		if n == mostLines && !all {
			fmt.Fprintf(w, "%s: %d more checks (--all lists them)\n", kind, len(groups)-n)
			break
		}
		more := ""
		if g.more > 0 {
			more = fmt.Sprintf("; and %d more of the suite", g.more)
		}
		fmt.Fprintf(w, "%s: %s%s\n", kind, g.first.line(), more)
		if g.first.Why != "" && (all || kind == NoLongerJudged || kind == Unasked) {
			fmt.Fprintf(w, "    %s\n", plain(g.first.Why))
		}
	}
}

// line says of a change what it is of, and both numbers.
func (x *Change) line() string {
	where := x.Suite + ": " + x.Case
	if x.Step != "" {
		where += ", " + x.Step
	}
	of := x.Check
	if of == "" {
		of = x.Motor + " at " + signal.Time(x.AtNS).String()
	}
	text := plain(where + "; " + of)
	switch {
	case x.Before != nil && x.After != nil:
		width := 0.0
		if x.Counts != nil {
			width = 2 * *x.Counts
		}
		text += ": " + between(x.Before, x.After, width, x.Unit)
		if x.Counts != nil {
			text += ", of which " + report.WithUnit(signal.Digits(*x.Counts, 2), x.Unit) + " may be chance"
		}
	case x.VerdictBefore != "" || x.VerdictAfter != "":
		text += ": " + orNone(x.VerdictBefore) + " → " + orNone(x.VerdictAfter)
	}
	return text
}

func orNone(verdict string) string {
	if verdict == "" {
		return "not there"
	}
	return verdict
}

// between writes two numbers to two digits of half of width.
func between(before, after *float64, width float64, unit string) string {
	n := report.Decimals(width / 2)
	return report.Fixed(*before, n) + " → " + report.WithUnit(report.Fixed(*after, n), plain(unit))
}

// writeRoom writes, of the checks that pass in both and got worse, the one that has the least room left.
func (c *Comparison) writeRoom(w io.Writer) {
	var least *Change
	for i := range c.Changes {
		x := &c.Changes[i]
		if x.Kind != Worse || x.VerdictAfter != record.Pass || x.RoomBefore == nil || x.RoomAfter == nil || *x.RoomBefore == 0 {
			continue
		}
		if least == nil || *x.RoomAfter / *x.RoomBefore < *least.RoomAfter / *least.RoomBefore {
			least = x
		}
	}
	if least != nil {
		fmt.Fprintf(w, "room that shrinks most of what still passes: %s, %s: %s\n",
			between(least.RoomBefore, least.RoomAfter, (*least.RoomBefore-*least.RoomAfter)/5, least.Unit), plain(least.Suite+": "+least.Case), plain(least.Check))
	}
}

// plain returns what of a text can be seen: what moves a terminal's cursor or turns the order of letters is
// left out, for texts of a record are what others wrote.
func plain(text string) string {
	return strings.Map(func(r rune) rune {
		if unicode.IsPrint(r) {
			return r
		}
		return -1
	}, text)
}

// Names lists the causes by their names, in order.
func (c *Comparison) Names() (names []string) {
	for i := range c.Causes {
		names = append(names, c.Causes[i].Name)
	}
	return slices.Clip(names)
}
