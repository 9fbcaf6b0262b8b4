package file

import (
	"bytes"
	"cmp"
	"fmt"
	"math"
	"path"
	"slices"
	"strconv"
	"strings"

	"hilrig/assertions/characteristic"
	"hilrig/suites/language"
)

// dynamometerTable declares the file of a dynamometer.
var dynamometerTable = language.NewTable("a dynamometer's file", "CSV with a line of names, then a row for each reading, in the order in which they were taken. Lines that begin with # are remarks.", []language.Key{
	{Name: "path", Kind: language.Text, Required: true, Example: "dyno.csv", Doc: "the CSV file, seen from the stand file's folder"},
	columnKey("command", "the throttle", language.Share, true),
	columnKey("torque", "the torque", language.Torque, true),
	columnKey("speed", "the speed of the shaft; left out: it was as held", language.AngularRate, false),
	{Name: "direction", Kind: language.Group, Table: language.NewTable("the column of the direction", "", []language.Key{
		{Name: "column", Kind: language.Text, Required: true, Example: "way", Doc: "its name in the first line"},
	}), Doc: "from where each level was approached, up or down; left out: as the throttle goes from row to row"},
})

// columnKey declares a column of quantity q.
func columnKey(name, doc string, q language.Quantity, required bool) language.Key {
	unit := q.Units()[0]
	return language.Key{Name: name, Kind: language.Group, Required: required, Doc: doc, Table: language.NewTable("the column of "+name, "", []language.Key{
		{Name: "column", Kind: language.Text, Required: true, Example: name, Doc: "its name in the first line, without a unit in brackets"},
		{Name: "unit", Kind: language.Word, Words: q.Units(), Example: strconv.Quote(unit), Doc: "of its numbers, in quotes; left out: that in brackets behind its name, as " + name + " [" + unit + "]"},
	})}
}

// What a dynamometer's file may be at most.
const (
	mostDynamometerBytes = 4 << 20
	mostDynamometerRows  = 20_000
	// sameLevel is how far commands of one level may differ from row to row.
	sameLevel = 0.0025
	// heldShare is how far a row's speed may be from the one that is held, of that one.
	heldShare = 0.05
)

// dynamometerReader reads the file of a dynamometer.
type dynamometerReader struct {
	logReader
	columns [4]dynamometerColumn // command, torque, speed, direction
	rows    []DynamometerRow
	marked  bool // a column says the direction
}

type dynamometerColumn struct {
	name  string // of the key; empty: not asked for
	index int
	q     language.Quantity
	unit  language.Unit
}

// dynamometer reads the file that the stand names, and reports what is wrong with it at its
// own places.
func (r *reader) dynamometer(d *Stand, v *language.Mapping, read func(string) ([]byte, error)) {
	written, at := v.Word("path"), v.NodeAt("path")
	name := written
	if !path.IsAbs(name) {
		name = path.Join(path.Dir(r.Source.Path), name)
	}
	if read == nil {
		r.Report(at, fmt.Sprintf("the file %s cannot be opened from here", language.Brief(written)), "name the stand file, not its folder")
		return
	}
	data, err := read(name)
	if err != nil {
		r.Report(at, fmt.Sprintf("the file %s cannot be read: %s", language.Brief(written), language.Brief(strings.Join(strings.Fields(err.Error()), " "))), "give a CSV file beside the stand file")
		return
	}
	y := &dynamometerReader{logReader: logReader{source: language.Source{Path: name, Data: data}}}
	c := &Dynamometer{Path: written, Source: y.source}
	if size := len(data); size > mostDynamometerBytes {
		y.at(1, 0, "", fmt.Sprintf("the file has %d bytes, more than %d", size, mostDynamometerBytes), "average the readings of each level into one row")
	} else if y.text() && y.names(v) {
		y.read()
		y.conditions(d.Held)
		c.Levels = make([][]float64, len(d.Held))
		for i := range d.Held {
			if len(y.problems) == 0 {
				c.Levels[i] = y.characteristic(i, &d.Held[i])
			}
		}
	}
	r.others = append(r.others, y.problems...)
	c.Rows, c.HasSpeed = y.rows, v.Sub("speed") != nil
	d.CSV = c
}

// names finds the columns by the first line; false where one is not there.
func (y *dynamometerReader) names(v *language.Mapping) bool {
	if first := y.firstLine(); strings.Contains(first, ";") && !strings.Contains(first, ",") {
		y.csv.Comma = ';'
	}
	row, ok := y.next()
	if !ok {
		if len(y.problems) == 0 {
			y.at(1, 0, "", "the file is empty", "begin with a line of names, then a row for each reading")
		}
		return false
	}
	y.fields = len(row)
	line, _ := y.place(0)
	var known, units []string
	for _, text := range row {
		name, unit := columnOf(text)
		known, units = append(known, name), append(units, unit)
	}
	for i, name := range []string{"command", "torque", "speed", "direction"} {
		one := v.Sub(name)
		if one == nil {
			continue
		}
		column, _ := columnOf(one.Word("column"))
		c := dynamometerColumn{name: name, index: slices.Index(known, column), q: [...]language.Quantity{language.Share, language.Torque, language.AngularRate, 0}[i]}
		if c.index < 0 {
			y.at(line, 0, "", fmt.Sprintf("no column is called %q, which is to be the %s", language.Brief(column), name), language.Instead(column, known))
			continue
		}
		if slices.Contains(known[c.index+1:], column) {
			y.at(line, 0, "", fmt.Sprintf("column %q stands twice", language.Brief(column)), "leave one out")
			continue
		}
		if name != "direction" {
			c.unit, ok = c.q.Unit(one.WordOr("unit", units[c.index]))
			if !ok {
				_, at := y.place(c.index)
				y.at(line, at, row[c.index], fmt.Sprintf("column %q has no unit of %s", language.Brief(row[c.index]), language.WithoutArticle(c.q.Noun())), fmt.Sprintf("write %s [%s], or give its unit in the stand file", column, c.q.Units()[0]))
				continue
			}
		}
		y.columns[i] = c
	}
	y.marked = y.columns[3].name != ""
	return len(y.problems) == 0
}

// read reads the rows.
func (y *dynamometerReader) read() {
	for len(y.problems) < mostLogProblems {
		row, more := y.next()
		if !more {
			return
		}
		line, _ := y.place(0)
		switch {
		case len(row) != y.fields:
			y.at(line, 0, "", fmt.Sprintf("the row has %d values where the first line names %d columns", len(row), y.fields), "give every row a value for each column")
			continue
		case len(y.rows) == mostDynamometerRows:
			y.at(line, 0, "", fmt.Sprintf("there are more than %d rows", mostDynamometerRows), "average the readings of each level into one row")
			return
		}
		one := DynamometerRow{Line: line, Speed: math.NaN()}
		for i, to := range []*float64{&one.Command, &one.Torque, &one.Speed} {
			if y.columns[i].name != "" {
				*to = y.value(row, &y.columns[i])
			}
		}
		if y.marked {
			one.Direction = y.direction(row[y.columns[3].index])
		}
		y.rows = append(y.rows, one)
	}
}

// most are the numbers beyond which a value of a dynamometer is none, in SI units.
var most = map[string]float64{"command": 1, "torque": 1e4, "speed": 2e4}

// value reads one number in its column's unit, 0 after reporting that it is none.
func (y *dynamometerReader) value(row []string, c *dynamometerColumn) float64 {
	text := strings.TrimSpace(row[c.index])
	line, column := y.place(c.index)
	x, err := strconv.ParseFloat(text, 64)
	x = c.unit.SI(x)
	switch {
	case text == "":
		y.at(line, column, text, c.name+" has no value: there is a hole", "fill it in, or leave the row out")
	case strings.Trim(text, "+-.0123456789eE") != "" || err != nil:
		y.at(line, column, text, fmt.Sprintf("%s is %q where a number is expected", c.name, language.Brief(text)), "write a plain number with a decimal point")
	case math.Abs(x) > most[c.name]*(1+1e-9):
		y.at(line, column, text, fmt.Sprintf("%s is %s %s, which is out of range", c.name, language.Brief(text), c.unit.Name), "look at the unit of this column")
	default:
		return x
	}
	return 0
}

// direction reads from where a level was approached.
func (y *dynamometerReader) direction(text string) characteristic.Direction {
	text = strings.TrimSpace(text)
	for _, d := range []characteristic.Direction{characteristic.Up, characteristic.Down} {
		if strings.EqualFold(text, d.String()) {
			return d
		}
	}
	line, column := y.place(y.columns[3].index)
	y.at(line, column, text, fmt.Sprintf("direction is %q", language.Brief(text)), "write up or down")
	return characteristic.Up
}

// conditions gives each row its held condition.
func (y *dynamometerReader) conditions(held []HeldCondition) {
	speeds := y.columns[2].name != ""
	if !speeds && len(held) > 1 && len(y.rows) > 0 {
		y.at(y.rows[0].Line, 0, "", fmt.Sprintf("%d conditions are held, and no column says which a row belongs to", len(held)), "name the column of the speed in the stand file, or hold one condition")
	}
	for i := range y.rows {
		one := &y.rows[i]
		if !speeds || len(y.problems) >= mostLogProblems {
			continue
		}
		best := -1
		for j := range held {
			off := math.Abs(one.Speed - held[j].Speed)
			if off <= max(float64(heldShare*held[j].Speed), 1) && (best < 0 || off < math.Abs(one.Speed-held[best].Speed)) {
				best = j
			}
		}
		if best < 0 {
			y.at(one.Line, 0, "", fmt.Sprintf("the speed of this row, %s, is none of those that are held", radians(one.Speed)), "leave the row out, or add its speed under held")
			continue
		}
		one.Held = best
	}
}

// characteristic gives the rows of a held condition their ways, cycles and levels, and returns
// the levels.
func (y *dynamometerReader) characteristic(held int, h *HeldCondition) []float64 {
	var rows []*DynamometerRow
	for i := range y.rows {
		if y.rows[i].Held == held {
			rows = append(rows, &y.rows[i])
		}
	}
	last := max(1, bytes.Count(y.source.Text(), []byte{'\n'}))
	if len(rows) < 2 {
		y.at(last, 0, "", fmt.Sprintf("%s has fewer than two points, of which no line can be made", h), "give at least two; linearity is judged from eight on")
		return nil
	}
	y.ways(rows)
	levels := levelsOf(rows)
	if len(y.problems) > 0 {
		return nil
	}
	if len(levels) < 2 {
		y.at(rows[len(rows)-1].Line, 0, "", fmt.Sprintf("%s: all rows are at one level, %s", h, language.Share.Format(levels[0])), "give at least two levels; linearity is judged from eight on")
		return nil
	}
	y.whole(rows, levels)
	return levels
}

// ways gives each row its direction and its cycle. Without a column of the direction it is the one
// in which the command goes; where it stays, as at the top, the next row turns round.
func (y *dynamometerReader) ways(rows []*DynamometerRow) {
	for i, one := range rows {
		if !y.marked {
			one.Direction = wayOf(rows, i)
		}
		if i == 0 {
			continue
		}
		before := rows[i-1]
		one.Cycle = before.Cycle
		if one.Direction == characteristic.Up && before.Direction == characteristic.Down {
			one.Cycle++
		}
		if math.Abs(one.Command-before.Command) < sameLevel && one.Direction == before.Direction {
			y.at(one.Line, 0, "", fmt.Sprintf("level %s stands again right after itself, approached from the same side", language.Share.Format(one.Command)), "average the readings of a level into one row")
		}
	}
}

// wayOf returns in which way the command goes at a row without a column that says it.
func wayOf(rows []*DynamometerRow, i int) characteristic.Direction {
	step := 0.0 // to the row, or where it stays, from it
	if i > 0 {
		step = rows[i].Command - rows[i-1].Command
	}
	if math.Abs(step) < sameLevel && i+1 < len(rows) {
		step = rows[i+1].Command - rows[i].Command
	}
	switch {
	case math.Abs(step) < sameLevel && i > 0:
		return rows[i-1].Direction
	case step < 0:
		return characteristic.Down
	}
	return characteristic.Up
}

// levelsOf returns the levels of rows and gives each row its own: commands that differ by less
// than sameLevel are one.
func levelsOf(rows []*DynamometerRow) (levels []float64) {
	order := slices.Clone(rows)
	slices.SortStableFunc(order, func(a, b *DynamometerRow) int { return cmp.Compare(a.Command, b.Command) })
	first, sum, n := math.Inf(-1), 0.0, 0
	for _, one := range order {
		if one.Command-first >= sameLevel {
			levels, first, sum, n = append(levels, 0), one.Command, 0, 0
		}
		sum, n = sum+one.Command, n+1
		levels[len(levels)-1] = sum / float64(n)
		one.Level = len(levels) - 1
	}
	return levels
}

// whole reports levels that are missing on one way of a cycle, between two of its rows.
func (y *dynamometerReader) whole(rows []*DynamometerRow, levels []float64) {
	for i, one := range rows[1:] {
		before := rows[i]
		low, high := min(before.Level, one.Level), max(before.Level, one.Level)
		if one.Direction == before.Direction && one.Cycle == before.Cycle && high-low > 1 {
			y.at(one.Line, 0, "", fmt.Sprintf("there is a hole before this row: level %s is missing between %s and %s", language.Share.Format(levels[low+1]), language.Share.Format(before.Command), language.Share.Format(one.Command)),
				"read every level on every way, or leave that one out everywhere")
		}
	}
}
