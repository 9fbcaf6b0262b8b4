package compare

import (
	"encoding/json"
	"fmt"
	"io"
	"slices"
	"strings"
	"unicode"

	"hilrig/rig/signal"
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
		fmt.Fprintln(w, strings.Replace(c.Level.Says(), " causes, ", " causes,\n", 1))
	}
	if c.Alongs > 0 {
		fmt.Fprintf(w, "In %d cases both played the same; there the commands were compared all along.\n", c.Alongs)
	}
}

// AsPage says in a line how a comparison that found something is drawn; "" where nothing differs, or the second run has no record.
func (c *Comparison) AsPage() string {
	if c.After == "" || len(c.Causes)+len(c.Changes) == 0 {
		return ""
	}
	return fmt.Sprintf("hilrig compare --html compared.html %s %s draws it, and with --all instead lists each change\n", c.Before, c.After)
}

// JSON writes the comparison as JSON, indented.
func (c *Comparison) JSON(w io.Writer) error {
	e := json.NewEncoder(w)
	e.SetEscapeHTML(false)
	e.SetIndent("", "  ")
	return e.Encode(c)
}

// Says states the level of a comparison.
func (l *Level) Says() string {
	return fmt.Sprintf("A difference counts beyond the uncertainty of both, at a level of %g %% for the whole: half of it for %d causes, half for %d comparisons of checks (Bonferroni).",
		l.Level*100, l.Causes, l.Comparisons)
}

// Ways says by which tests numbers are compared that are no means.
const Ways = "Responses are compared by the ranks of all their readings (Mann and Whitney; all responses together by van Elteren), loop rates by their estimates over what both intervals leave open; the rig's own clock is the same in both and cancels."

// writeCause writes a cause with what follows from it.
func (c *Comparison) writeCause(w io.Writer, k *Cause, all bool) {
	fmt.Fprintf(w, "%s: %s %s\n", k.Kind, k.Name, k.Says())
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

// Says writes from what to what the cause went, and by how much of itself where that is known.
func (k *Cause) Says() string {
	return between(&k.Before, &k.After, k.High-k.Low, k.Unit) + grown(k)
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
	text := x.Where() + "; " + x.Of()
	if says := x.Says(); says != "" {
		text += ": " + says
	}
	return text
}

// Where names the suite, the case and the step.
func (x *Change) Where() string {
	where := x.Suite + ": " + x.Case
	if x.Step != "" {
		where += ", " + x.Step
	}
	return plain(where)
}

// Of names the check; where none tells of it the motor and the time.
func (x *Change) Of() string {
	if x.Check == "" {
		return plain(x.Motor + " at " + signal.Time(x.AtNS).String())
	}
	return plain(x.Check)
}

// Says writes both numbers with what of their difference may be chance, or else both verdicts.
func (x *Change) Says() string {
	switch {
	case x.Before != nil && x.After != nil && x.Counts != nil:
		return between(x.Before, x.After, 2**x.Counts, x.Unit) + ", of which " + report.WithUnit(signal.Digits(*x.Counts, 2), plain(x.Unit)) + " may be chance"
	case x.Before != nil && x.After != nil:
		return between(x.Before, x.After, 0, x.Unit)
	case x.VerdictBefore != "" || x.VerdictAfter != "":
		return orNone(x.VerdictBefore) + " → " + orNone(x.VerdictAfter)
	}
	return ""
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
