package file

import (
	"fmt"
	"slices"
	"strings"

	"hilrig/rig/trace"
	"hilrig/suites/language"
)

// needed are the columns without which a log cannot be played, besides the time.
var neededColumns = []trace.Channel{trace.Speed, trace.Steer, trace.Throttle}

// mostColumns is how many columns a log may have.
const mostColumns = 1000

// wheelColumn is what the names of wheel speeds begin with.
const wheelColumn = "wheel_speed."

// logKey declares what stands in the column called name; nil for one that is not played.
func logKey(name string) (key *language.Key, to int) {
	if name == logTimeKey.Name {
		return &logTimeKey, -1
	}
	c, ok := trace.ChannelNamed(name)
	if !ok || !slices.ContainsFunc(stimulusKeys, func(k language.Key) bool { return k.Name == name }) && !strings.HasPrefix(name, wheelColumn) {
		return nil, 0
	}
	return heldKey(c), int(c)
}

// header reads the line of names and units; false where nothing can be read by it.
func (r *logReader) header() bool {
	if !r.separated() {
		return false
	}
	row, ok := r.next()
	if !ok {
		if len(r.problems) == 0 {
			r.at(1, 0, "", "the drive log is empty", "begin with a line like time [s],speed [m/s],steer [deg],yaw_rate [deg/s],throttle [%]")
		}
		return false
	}
	if r.fields = len(row); r.fields > mostColumns {
		r.at(1, 0, "", fmt.Sprintf("the drive log has %d columns, more than %d", r.fields, mostColumns), "leave out what is not played")
		return false
	}
	line, _ := r.place(0)
	var names []string
	for i, text := range row {
		_, column := r.place(i)
		name, unit := columnOf(text)
		if word, _, more := strings.Cut(name, " "); more && unit == "" && slices.Contains(logNames, word) {
			name = word // and a unit without brackets
		}
		key, to := logKey(name)
		switch {
		case key == nil:
			p := r.problemAt(line, characters(r.line(line), column), text, fmt.Sprintf("column %q is not played", language.Brief(text)), language.Instead(name, logNames))
			p.Level = language.Warning
			r.notes = append(r.notes, p)
			continue
		case slices.Contains(names, name):
			r.at(line, column, text, fmt.Sprintf("column %s stands twice", name), "leave one out")
			continue
		}
		names = append(names, name)
		r.log.headed = true
		if to >= 0 {
			r.log.named[to] = true
		}
		c := logColumn{name: name, index: i, key: key, to: to}
		if c.unit, ok = key.Quantity.Unit(unit); !ok {
			what := fmt.Sprintf("column %q has no unit in square brackets", language.Brief(text))
			if unit != "" {
				what = fmt.Sprintf("column %q: %q is no unit of %s", language.Brief(text), language.Brief(unit), language.WithoutArticle(key.Quantity.Noun()))
			}
			r.at(line, column, text, what, "write "+name+" ["+unitOf(key)+"]")
			continue
		}
		r.columns = append(r.columns, c)
	}
	if !slices.Contains(names, logTimeKey.Name) {
		r.at(line, 0, "", "the drive log has no column time", "add a column time [s]")
	}
	for _, c := range neededColumns {
		if !slices.Contains(names, c.String()) {
			r.at(line, 0, "", fmt.Sprintf("the drive log has no column %s", c), fmt.Sprintf("add a column %s [%s]", c, unitOf(heldKey(c))))
		}
	}
	return len(r.problems) == 0
}

// unitOf is the unit that a column of the key is best written in.
func unitOf(k *language.Key) string {
	if k == &logTimeKey {
		return "s"
	}
	return k.Quantity.Units()[0]
}

// columnOf takes apart what names a column, "speed [m/s]". unit is empty where
// none stands in square brackets.
func columnOf(text string) (name, unit string) {
	text = strings.TrimSpace(text)
	end := strings.IndexAny(text, "[(")
	if end < 0 {
		return strings.ToLower(text), ""
	}
	name = strings.ToLower(strings.TrimSpace(text[:end]))
	if rest, closed := strings.CutSuffix(text[end:], "]"); closed && rest[0] == '[' {
		unit = strings.TrimSpace(rest[1:])
	}
	return name, unit
}

// logNames are the columns that are played.
var logNames = func() []string {
	names := []string{logTimeKey.Name}
	for i := range stimulusKeys {
		names = append(names, stimulusKeys[i].Name)
	}
	for _, w := range corners[:4] {
		names = append(names, wheelColumn+w)
	}
	return names
}()
