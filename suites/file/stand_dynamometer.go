package file

import (
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
	MostDynamometerBytes = 4 << 20
	mostDynamometerRows  = 20_000
	// sameLevel is how far commands of one level may differ from row to row.
	sameLevel = 0.0025
	// heldShare is how far a row's speed may be from the one that is held, of that one.
	heldShare = 0.05
)

// dynamometerReader reads the file of a dynamometer.
type dynamometerReader struct {
	csvReader
	columns [4]dynamometerColumn // command, torque, speed, direction
	rows    []DynamometerRow
	marked  bool // a column says the direction
}

type dynamometerColumn struct {
	name  string // of the key; empty: not asked for
	index int
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
		why, remedy := unread(err, name)
		r.Report(at, fmt.Sprintf("the file %s cannot be read: %s", language.Brief(written), why), cmp.Or(remedy, "give a CSV file beside the stand file"))
		return
	}
	y := &dynamometerReader{csvReader: csvReader{source: language.Source{Path: name, Data: data}}}
	c := &Dynamometer{Path: written, Source: y.source}
	if size := len(data); size > MostDynamometerBytes {
		y.at(1, 0, "", fmt.Sprintf("the file has %d bytes, more than %d", size, MostDynamometerBytes), "average the readings of each level into one row")
	} else if y.text() && y.names(v) {
		y.read()
		if y.found == 0 {
			y.conditions(d.Held)
		}
		c.Levels = make([][]float64, len(d.Held))
		for i := range d.Held {
			if y.found == 0 {
				c.Levels[i] = y.characteristic(i, &d.Held[i])
			}
		}
	}
	y.close()
	r.others = append(r.others, y.problems...)
	c.Rows, c.HasSpeed = y.rows, v.Sub("speed") != nil
	d.CSV = c
}

// names finds the columns by the first line; false where one is not there.
func (y *dynamometerReader) names(v *language.Mapping) bool {
	if !y.separated() {
		return false
	}
	row, ok := y.next()
	if !ok {
		if len(y.problems) == 0 {
			y.at(1, 0, "", "the file is empty", "begin with a line of names, then a row for each reading")
		}
		return false
	}
	y.fields = len(row)
	for i, name := range []string{"command", "torque", "speed", "direction"} {
		if one := v.Sub(name); one != nil {
			y.columns[i] = y.column(row, name, one)
		}
	}
	y.marked = y.columns[3].name != ""
	return len(y.problems) == 0
}

// columnQuantities are what the columns of numbers measure.
var columnQuantities = map[string]language.Quantity{"command": language.Share, "torque": language.Torque, "speed": language.AngularRate}

// column finds one column among the names of the first line, or reports that it is not there.
func (y *dynamometerReader) column(row []string, name string, v *language.Mapping) dynamometerColumn {
	var known, units []string
	for _, text := range row {
		name, unit := columnOf(text)
		known, units = append(known, name), append(units, unit)
	}
	called, _ := columnOf(v.Word("column"))
	c := dynamometerColumn{name: name, index: slices.Index(known, called)}
	line, at := y.place(max(c.index, 0))
	switch {
	case c.index < 0:
		y.at(line, 0, "", fmt.Sprintf("no column is called %q, which is to be the %s", language.Brief(called), name), language.Instead(called, known))
		return c
	case slices.Contains(known[c.index+1:], called):
		y.at(line, 0, "", fmt.Sprintf("column %q stands twice", language.Brief(called)), "leave one out")
		return c
	}
	q, number := columnQuantities[name]
	if !number {
		return c
	}
	var ok bool
	if c.unit, ok = q.Unit(v.WordOr("unit", units[c.index])); !ok {
		y.at(line, at, row[c.index], fmt.Sprintf("column %q has no unit of %s", language.Brief(row[c.index]), language.WithoutArticle(q.Noun())), fmt.Sprintf("write %s [%s], or give its unit in the stand file", called, q.Units()[0]))
	}
	return c
}

// read reads the rows.
func (y *dynamometerReader) read() {
	for y.found < mostCounted {
		row, more := y.next()
		if !more {
			return
		}
		line, _ := y.place(0)
		switch {
		case y.wrongRow(row, line):
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

// columnMost are the numbers beyond which a value of a dynamometer is none, in SI units.
var columnMost = map[string]float64{"command": 1, "torque": 1e4, "speed": 2e4}

// value reads one number in its column's unit, 0 after reporting that it is none.
func (y *dynamometerReader) value(row []string, c *dynamometerColumn) float64 {
	text := strings.TrimSpace(row[c.index])
	line, column := y.place(c.index)
	x, err := strconv.ParseFloat(text, 64)
	x = c.unit.SI(x)
	switch {
	case text == "":
		y.at(line, column, text, c.name+" has no value: there is a hole", "fill it in, or leave the row out")
	case y.slip(text, c.name, line, column):
	case strings.Trim(text, "+-.0123456789eE") != "" || err != nil:
		y.at(line, column, text, fmt.Sprintf("%s is %q where a number is expected", c.name, language.Brief(text)), "write a plain number with a decimal point")
	case math.Abs(x) > columnMost[c.name]*(1+1e-9):
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
