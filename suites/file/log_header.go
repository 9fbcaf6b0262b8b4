package file

import (
	"fmt"
	"slices"
	"strings"

	"hilrig/rig/trace"
)

// needed are the columns without which a log cannot be played, besides the time.
var neededColumns = []trace.Channel{trace.Speed, trace.Steer, trace.Throttle}

// wheelColumn is what the names of wheel speeds begin with.
const wheelColumn = "wheel_speed."

// logKey declares what stands in the column called name; nil for one that is not played.
func logKey(name string) (key *Key, to int) {
	if name == logTimeKey.Name {
		return &logTimeKey, -1
	}
	c, ok := trace.ChannelNamed(name)
	if !ok || !slices.ContainsFunc(stimulusKeys, func(k Key) bool { return k.Name == name }) && !strings.HasPrefix(name, wheelColumn) {
		return nil, 0
	}
	return heldKey(c), int(c)
}

// header reads the line of names and units; false where nothing can be read by it.
func (r *logReader) header() bool {
	if first, _, _ := strings.Cut(string(r.firstLine()), "\n"); strings.Contains(first, ";") && !strings.Contains(first, ",") {
		r.csv.Comma = ';'
	}
	row, ok := r.next()
	if !ok {
		if len(r.problems) == 0 {
			r.at(1, 0, "", "the drive log is empty", "begin with a line like time [s],speed [m/s],steer [deg],yaw_rate [deg/s],throttle [%]")
		}
		return false
	}
	r.fields = len(row)
	line, _ := r.place(0)
	var names []string
	for i, text := range row {
		text = strings.TrimSpace(text)
		name, unit, hasUnit := strings.Cut(text, "[")
		name = strings.TrimSpace(name)
		_, column := r.place(i)
		key, to := logKey(name)
		switch {
		case key == nil:
			r.note(line, column, text)
			continue
		case slices.Contains(names, name):
			r.at(line, column, text, fmt.Sprintf("column %s stands twice", name), "leave one out")
			continue
		}
		names = append(names, name)
		c := logColumn{name: name, index: i, key: key, to: to}
		m := &measures[key.Quantity]
		if c.unit, ok = m.unit(strings.TrimSuffix(strings.TrimSpace(unit), "]")); !ok || !hasUnit {
			what := fmt.Sprintf("column %s has no unit", name)
			if hasUnit {
				what = fmt.Sprintf("column %q: its unit is none of %s", brief(text), strings.TrimPrefix(strings.TrimPrefix(m.noun, "an "), "a "))
			}
			r.at(line, column, text, what, "write it like "+name+" ["+m.units[logUnit(key)].name+"]")
			continue
		}
		r.columns = append(r.columns, c)
	}
	if !slices.Contains(names, logTimeKey.Name) {
		r.at(line, 0, "", "the drive log has no column time", "add a column time [s]")
	}
	for _, c := range neededColumns {
		if !slices.Contains(names, c.String()) {
			key := heldKey(c)
			r.at(line, 0, "", fmt.Sprintf("the drive log has no column %s", c), fmt.Sprintf("add a column %s [%s]", c, measures[key.Quantity].units[0].name))
		}
	}
	return len(r.problems) == 0
}

// logUnit picks the unit that a column of the key is best written in.
func logUnit(k *Key) int {
	if k == &logTimeKey {
		return slices.IndexFunc(measures[Duration].units, func(u unit) bool { return u.name == "s" })
	}
	return 0
}

// note warns of a column that is not played.
func (r *logReader) note(line, column int, text string) {
	p := Problem{Place: Place{r.source.Path, line, column}, Value: text, Level: Warning,
		Message: fmt.Sprintf("column %q is not played", brief(text)), Remedy: instead(nameOf(text), logNames)}
	p.Excerpt = excerptLine(r.line(line), line, len(fmt.Sprint(line)), column)
	r.notes = append(r.notes, p)
}

// nameOf returns a column's name without its unit.
func nameOf(text string) string {
	name, _, _ := strings.Cut(text, "[")
	return strings.TrimSpace(name)
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

// firstLine returns the first line that is no remark.
func (r *logReader) firstLine() []byte {
	for line := range strings.Lines(string(r.source.text()[:min(len(r.source.Data), 1<<12)])) {
		if !strings.HasPrefix(line, "#") && strings.TrimSpace(line) != "" {
			return []byte(line)
		}
	}
	return nil
}
