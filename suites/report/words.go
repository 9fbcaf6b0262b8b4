package report

import (
	"fmt"
	"math"
	"strconv"
	"strings"

	"hilrig/rig/signal"
	"hilrig/suites/record"
)

// named is how many failing checks a line names.
const named = 6

// OfStand says whether a result is of a speed controller on a stand.
func OfStand(r *record.Result) bool { return r.Car == record.Source{} }

// Summary says in a line what the outcome rests on.
func Summary(r *record.Result) string {
	n := r.Counts
	all := n.Pass + n.Fail + n.Undecided
	var parts []string
	add := func(format string, args ...any) { parts = append(parts, fmt.Sprintf(format, args...)) }
	if r.Why != "" {
		add("%s", r.Why)
	} else if r.Part != nil {
		add("%d of %d, which is no outcome of the run: hilrig run --join takes all parts as one", r.Part.Number, r.Part.Of)
	} else if r.Outcome == record.PartEnded {
		add("chosen cases alone, which is no outcome of the run")
	}
	if n.Fail > 0 {
		add("%d of %s failed (%s)", n.Fail, Count(all, "check"), strings.Join(Failing(r), "; "))
	}
	if n.Undecided > 0 {
		add("%d of %s undecided", n.Undecided, Count(all, "check"))
	}
	if played := n.Cases - n.NotRun; (len(parts) == 0 || r.Why != "" || r.Outcome == record.PartEnded) && (n.Pass > 0 || n.Measured == 0) {
		if r.KeysDeclared > 0 {
			add("%d of %s asked", r.KeysAsked, Count(r.KeysDeclared, "policy key"))
		}
		add("%s, %s passed", Count(played, "case"), Count(n.Pass, "check"))
	} else if len(parts) == 0 {
		add("%s, %s measured, and no limit is set", Count(played, "case"), Count(n.Measured, "figure"))
	}
	if r.Rests != "" {
		add("rests on %s", r.Rests)
	}
	if len(r.Substituted) > 0 {
		add("substituted: %s", strings.Join(r.Substituted, ", "))
	}
	if n.NotRun > 0 {
		add("%d of %s not played", n.NotRun, Count(n.Cases, "case"))
	}
	return strings.Join(parts, ", ")
}

// Failing names the checks that failed, each once; beyond a handful how many
// more there are.
func Failing(r *record.Result) []string {
	names := Names(Failures(r), record.Fail)
	if OfStand(r) {
		names = FailedFigures(r)
	}
	if len(names) > named {
		names = append(names[:named], fmt.Sprintf("%d more", len(names)-named))
	}
	return names
}

// NotAsked says what the notes of a result or a list say that is not asked: a line for each reason with the keys that it holds for, and
// one for each part of a key.
func NotAsked(notes []record.Note) (lines []string) {
	var reasons, parts []string
	keys := map[string][]string{}
	for _, n := range notes {
		if n.Part != "" {
			parts = append(parts, "not asked  "+n.Name()+"  "+n.Text)
			continue
		}
		if keys[n.Text] == nil {
			reasons = append(reasons, n.Text)
		}
		keys[n.Text] = append(keys[n.Text], n.Key)
	}
	for _, why := range reasons {
		lines = append(lines, fmt.Sprintf("not asked  %s: %s", why, strings.Join(keys[why], ", ")))
	}
	return append(lines, parts...)
}

// Where writes the time and the step in which to look; nothing where there is no such
// place, as for a step that the case lacks.
func Where(c *record.Check) string {
	switch at := fmt.Sprintf("at %.3f s", signal.Time(c.AtNS).Seconds()); {
	case c.Step != "":
		return at + " in " + c.Step
	case c.AtNS > 0:
		return at
	}
	return ""
}

// CommonLimit writes what the failure's measured checks were held against; it is empty where
// that is not the same for all of them, or none measured anything.
func (f *Failure) CommonLimit() string {
	text, seen := "", false
	for _, w := range f.Rows {
		if !w.Check.Measured() {
			continue
		}
		if l := Limit(w.Check); seen && l != text {
			return ""
		} else {
			text, seen = l, true
		}
	}
	return text
}

// Figure is the one thing worth knowing of a group on its line.
func (g *Group) Figure() string {
	of := " of " + Count(len(g.Checks), "check")
	switch g.Counts.Worst() {
	case record.Fail:
		return strconv.Itoa(g.Counts.Fail) + of
	case record.Undecided:
		return strconv.Itoa(g.Counts.Undecided) + of
	case record.Pass:
		if c, left := g.Closest(); c != nil {
			return "least room " + WithUnit(signal.Digits(left, 2), c.Unit) + ": " + c.Name
		}
	}
	return ""
}

// TimingCost says in a line what the rig's own timing cost a suite; "" where that is
// nothing.
func TimingCost(t *record.Timing) string {
	if t == nil {
		return ""
	}
	var parts []string
	if t.Uncertain > 0 {
		parts = append(parts, fmt.Sprintf("%s left out (sampler's gaps up to %s us)", Count(int(t.Uncertain), "motor command"), Fixed(float64(t.LongestGapNS)/1e3, 0)))
	}
	if t.Settled > 0 {
		parts = append(parts, fmt.Sprintf("%s settled by CRC", Count(int(t.Settled), "motor command")))
	}
	if t.LeftOut > 0 {
		parts = append(parts, fmt.Sprintf("%d readings not used by checks", t.LeftOut))
	}
	if t.Late > 0 {
		parts = append(parts, fmt.Sprintf("%s played late, up to %s us", Count(int(t.Late), "edge"), Fixed(float64(t.LatestNS)/1e3, 0)))
	}
	if t.Again > 0 {
		parts = append(parts, Count(t.Again, "case run")+" repeated")
	}
	if len(parts) == 0 {
		return ""
	}
	return "rig's timing: " + strings.Join(parts, ", ")
}

// Count writes "1 check" or "3 checks".
func Count(n int, noun string) string {
	if n == 1 {
		return "1 " + noun
	}
	return strconv.Itoa(n) + " " + noun + "s"
}

// AboutLeft writes a time in s that is left as coarsely as it is known. A line that is
// rewritten with each case does not flicker so.
func AboutLeft(s float64) string {
	switch {
	case s >= 5400:
		return fmt.Sprintf("about %.1f h left", s/3600)
	case s >= 90:
		return fmt.Sprintf("about %.0f min left", s/60)
	case s >= 10:
		return fmt.Sprintf("about %.0f s left", 10*math.Round(s/10))
	case s > 0:
		return "a few seconds left"
	}
	return ""
}
