package file

import (
	"bytes"
	"fmt"
	"math"
	"slices"
	"strconv"
	"strings"

	"hilrig/rig/signal"
	"hilrig/rig/trace"
	"hilrig/suites/language"
)

// What a drive log may be at most.
const (
	MostLogBytes = 50 << 20
	mostLogTime  = 30 * 60 * signal.Second
	// A hole in time is a gap of more than holeFactor times the median one.
	holeFactor = 5
)

// driveLog is a drive log that was read: SI, the first row at time 0.
type driveLog struct {
	times    []signal.Time // nil: the log is wrong
	columns  [trace.Channels][]float64
	mirrored [trace.Channels][]float64 // columns with the other sign, as far as they were asked for
	headed   bool                      // its first line names columns
	named    [trace.Channels]bool      // those for each channel
}

// logColumn is one column that is played.
type logColumn struct {
	name  string
	index int
	key   *language.Key // bounds and quantity
	unit  language.Unit
	to    int // trace.Channel; below 0: the time
}

// logTimeKey declares the time column.
var logTimeKey = language.Key{Name: "time", Kind: language.Measure, Quantity: language.Duration}

// logReader reads one drive log.
type logReader struct {
	csvReader
	columns []logColumn
	log     *driveLog
	lines   []int // of each row
	done    bool  // the rest is not worth reading
	notes   language.Warnings
}

// parseLog reads a drive log: CSV with a line of names and units, "time [s]",
// "speed [m/s]", then a row for each time. Lines that begin with # are remarks.
// Problems are in order of place, nil where there is none.
func parseLog(s language.Source) (*driveLog, language.Problems, language.Warnings) {
	r := &logReader{csvReader: csvReader{source: s}, log: &driveLog{}}
	if r.text() && r.header() {
		r.rows()
		r.timing()
	}
	r.close()
	return r.log, r.problems, r.notes
}

// rows reads the rows and reports values that cannot be played.
func (r *logReader) rows() {
	first := 0.0
	for !r.done && r.found < mostCounted {
		row, more := r.next()
		if !more {
			break
		}
		line, _ := r.place(0)
		if r.wrongRow(row, line) {
			continue
		}
		for i := range r.columns {
			c := &r.columns[i]
			x, ok := r.number(row[c.index], c)
			switch {
			case !ok:
			case c.to >= 0:
				r.log.columns[c.to] = append(r.log.columns[c.to], x)
			default:
				if len(r.lines) == 0 {
					first = x
				}
				r.time(row[c.index], signal.FromSeconds(min(max(x-first, -1e6), 1e6)), line, c)
			}
		}
	}
}

// time takes the time of a row.
func (r *logReader) time(text string, at signal.Time, line int, c *logColumn) {
	_, column := r.place(c.index)
	if n := len(r.log.times); n > 0 && at <= r.log.times[n-1] {
		r.at(line, column, text, fmt.Sprintf("time %s does not come after that of the row before", language.Brief(text)), "sort the rows by rising time and leave out doubles")
		return
	}
	if at > mostLogTime {
		r.at(line, column, text, fmt.Sprintf("the drive log is longer than %s", span(mostLogTime)), "cut it")
		r.done = true
		return
	}
	r.log.times = append(r.log.times, at)
	r.lines = append(r.lines, line)
}

// number reads one value in its column's unit.
func (r *logReader) number(text string, c *logColumn) (float64, bool) {
	text = strings.TrimSpace(text)
	line, column := r.place(c.index)
	x, err := strconv.ParseFloat(text, 64)
	x = c.unit.SI(x)
	switch low := strings.ToLower(strings.TrimLeft(text, "+-")); {
	case text == "":
		r.at(line, column, text, c.name+" has no value", "fill it in, or leave the row out")
	case r.slip(text, c.name, line, column):
	case low == "nan" || low == "inf" || low == "infinity":
		r.at(line, column, text, fmt.Sprintf("%s is %s, which cannot be played", c.name, language.Brief(text)), "leave the row out, or fill in a number")
	case strings.Trim(text, "+-.0123456789eE") != "" || err != nil || math.IsInf(x, 0): // hexadecimal digits and words are no numbers here
		r.at(line, column, text, fmt.Sprintf("%s is %q where a number is expected", c.name, language.Brief(text)), "write a plain number with a decimal point; the unit stands in the first line")
	case !c.key.Holds(x):
		r.at(line, column, text, fmt.Sprintf("%s is %s %s, which is out of range", c.name, language.Brief(text), c.unit.Name), "keep it within "+c.key.Least+" to "+c.key.Most)
	default:
		return x, true
	}
	return 0, false
}

// timing reports a log without rows and holes in time.
func (r *logReader) timing() {
	times := r.log.times
	if r.found > 0 {
		return
	}
	if len(times) < 2 {
		r.at(max(1, bytes.Count(r.source.Text(), []byte{'\n'})), 0, "", "the drive log has fewer than two rows", "give at least two")
		return
	}
	steps := make([]signal.Time, len(times)-1)
	for i := range steps {
		steps[i] = times[i+1] - times[i]
	}
	sorted := slices.Clone(steps)
	slices.Sort(sorted)
	median := sorted[len(sorted)/2]
	r.spacing(median)
	for i, step := range steps {
		if step > holeFactor*median {
			r.at(r.lines[i+1], 0, "", fmt.Sprintf("a hole of %s in time before this row, where rows are %s apart", span(step), span(median)), "fill it, or cut the log there")
		}
	}
}

// spacing notes a time whose unit is most likely not the one that its column says.
func (r *logReader) spacing(median signal.Time) {
	var why string
	switch {
	case median < signal.Millisecond:
		why = "closer than the car is played"
	case median > signal.Second:
		why = "with straight lines between them"
	default:
		return
	}
	p := r.problemAt(r.lines[1], 0, "", fmt.Sprintf("the rows are %s apart, %s", span(median), why), "see whether the unit of time is the one in the first line")
	p.Level = language.Warning
	r.notes = append(r.notes, p)
}
