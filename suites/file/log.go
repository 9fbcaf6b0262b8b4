package file

import (
	"bytes"
	"encoding/csv"
	"errors"
	"fmt"
	"io"
	"math"
	"slices"
	"strconv"
	"strings"
	"unicode/utf8"

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
	// mostLogProblems is how many problems of a log are listed.
	mostLogProblems = 20
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
	source   language.Source
	csv      *csv.Reader
	columns  []logColumn
	fields   int
	log      *driveLog
	lines    []int // of each row
	done     bool  // the rest is not worth reading
	problems language.Problems
	notes    language.Warnings
}

// parseLog reads a drive log: CSV with a line of names and units, "time [s]",
// "speed [m/s]", then a row for each time. Lines that begin with # are remarks.
// Problems are in order of place, nil where there is none.
func parseLog(s language.Source) (*driveLog, language.Problems, language.Warnings) {
	r := &logReader{source: s, log: &driveLog{}}
	if r.text() && r.header() {
		r.rows()
		r.timing()
	}
	return r.log, r.problems, r.notes
}

// at reports a problem at a place, its column counted in bytes as a reader of
// CSV does; column 0 stands for the whole line.
func (r *logReader) at(line, column int, value, message, remedy string) {
	r.atCharacter(line, characters(r.line(line), column), value, message, remedy)
}

// atCharacter reports a problem at a place, its column counted in characters.
func (r *logReader) atCharacter(line, column int, value, message, remedy string) {
	if len(r.problems) < mostLogProblems {
		r.problems = append(r.problems, r.problemAt(line, column, value, message, remedy))
	}
}

func (r *logReader) problemAt(line, column int, value, message, remedy string) language.Problem {
	return language.Problem{
		Place: language.Place{File: r.source.Path, Line: line, Column: max(column, 1)}, Value: value, Message: message, Remedy: remedy,
		Excerpt: language.ExcerptLine(r.line(line), line, len(fmt.Sprint(line)), column),
	}
}

// characters turns a column counted in bytes to one counted in characters; 0 stays.
func characters(text string, column int) int {
	if column < 1 {
		return 0
	}
	return 1 + utf8.RuneCountInString(text[:min(column-1, len(text))])
}

// line returns one line of the log.
func (r *logReader) line(line int) string {
	rest := r.source.Data
	for range line - 1 {
		_, rest, _ = bytes.Cut(rest, []byte{'\n'})
	}
	text, _, _ := bytes.Cut(rest, []byte{'\n'})
	text = bytes.TrimSuffix(text, []byte{'\r'})
	if line == 1 {
		text = bytes.TrimPrefix(text, []byte("\ufeff"))
	}
	return string(text)
}

// text reports a log that no reader should be given.
func (r *logReader) text() bool {
	if size := len(r.source.Data); size > MostLogBytes {
		r.at(1, 0, "", fmt.Sprintf("the drive log has %d bytes, more than %d", size, MostLogBytes), "cut it, or thin out its rows")
		return false
	}
	data := r.source.Text()
	if p, ok := language.NotText(data); !ok {
		r.atCharacter(p.Line, p.Column, "", p.Message, p.Remedy)
		return false
	}
	r.csv = csv.NewReader(bytes.NewReader(data))
	r.csv.Comment = '#'
	r.csv.ReuseRecord = true
	r.csv.FieldsPerRecord = -1
	r.csv.TrimLeadingSpace = true
	return true
}

// next reads one row; false at the end.
func (r *logReader) next() ([]string, bool) {
	for {
		row, err := r.csv.Read()
		if e, ok := errors.AsType[*csv.ParseError](err); ok {
			r.at(e.Line, e.Column, "", "not readable as CSV: "+e.Err.Error(), "check the quotes of this line, or leave them out")
			return nil, false
		}
		if err != nil {
			if err != io.EOF {
				r.at(1, 0, "", "not readable as CSV: "+err.Error(), "")
			}
			return nil, false
		}
		if len(row) == 1 && strings.TrimSpace(row[0]) == "" {
			continue
		}
		return row, true
	}
}

// place returns where a field of the row that was read last begins.
func (r *logReader) place(field int) (line, column int) { return r.csv.FieldPos(field) }

// rows reads the rows and reports values that cannot be played.
func (r *logReader) rows() {
	first := 0.0
	for !r.done && len(r.problems) < mostLogProblems {
		row, more := r.next()
		if !more {
			break
		}
		line, _ := r.place(0)
		if len(row) != r.fields {
			r.at(line, 0, "", fmt.Sprintf("the row has %d values where the first line names %d columns", len(row), r.fields), "give every row a value for each column")
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
	if len(r.problems) > 0 {
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
	for i, step := range steps {
		if step > holeFactor*median {
			r.at(r.lines[i+1], 0, "", fmt.Sprintf("a hole of %s in time before this row, where rows are %s apart", span(step), span(median)), "fill it, or cut the log there")
		}
	}
}
