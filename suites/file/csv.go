package file

import (
	"bytes"
	"encoding/csv"
	"errors"
	"fmt"
	"io"
	"slices"
	"strings"
	"unicode/utf8"

	"hilrig/suites/language"
)

// What is said of a file of CSV.
const (
	mostListed  = 20      // problems at most
	mostAlike   = 3       // problems of one kind
	mostCounted = 100_000 // where counting ends
)

// csvReader reads a file of CSV, and collects what is wrong with it.
type csvReader struct {
	source   language.Source
	csv      *csv.Reader
	fields   int // of each row, as the first line has them
	problems language.Problems

	found    int              // how many problems there are, listed or not
	alike    map[string]int   // how many of one kind are listed
	unlisted language.Problem // the first that is not listed
}

// at reports a problem at a place, its column counted in bytes as a reader of
// CSV does; column 0 stands for the whole line.
func (r *csvReader) at(line, column int, value, message, remedy string) {
	if p := r.count(message, remedy); p != nil {
		*p = r.problemAt(line, characters(r.line(line), column), value, message, remedy)
	}
}

// atCharacter reports a problem at a place, its column counted in characters.
func (r *csvReader) atCharacter(line, column int, value, message, remedy string) {
	if p := r.count(message, remedy); p != nil {
		*p = r.problemAt(line, column, value, message, remedy)
	}
}

// count counts a problem and returns where it is kept; nil: it is not, for to find its line takes long in a
// long file.
func (r *csvReader) count(message, remedy string) *language.Problem {
	what, _, _ := strings.Cut(message, " ")
	kind := what + " " + remedy // a column and what to do there
	if r.alike == nil {
		r.alike = map[string]int{}
	}
	r.found++
	r.alike[kind]++
	if len(r.problems) < mostListed && r.alike[kind] <= mostAlike {
		r.problems = append(r.problems, language.Problem{})
		return &r.problems[len(r.problems)-1]
	}
	if r.unlisted.Line == 0 {
		return &r.unlisted
	}
	return nil
}

// close sorts the problems by place and says at their end how many are not listed. A single one is listed
// instead.
func (r *csvReader) close() {
	more := r.found - len(r.problems)
	if more == 1 {
		r.problems = append(r.problems, r.unlisted)
	}
	r.problems.Sort()
	if more < 2 {
		return
	}
	all := fmt.Sprint(r.found)
	if r.found >= mostCounted {
		all += " and more"
	}
	r.problems = append(r.problems, language.Problem{Place: r.unlisted.Place, More: more - 1, Remedy: "mend these first: most are alike",
		Message: fmt.Sprintf("%d shown of %s problems of this file; the next is here", len(r.problems), all)})
}

func (r *csvReader) problemAt(line, column int, value, message, remedy string) language.Problem {
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
func (r *csvReader) line(line int) string {
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
func (r *csvReader) text() bool {
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
func (r *csvReader) next() ([]string, bool) {
	for {
		row, err := r.csv.Read()
		if e, ok := errors.AsType[*csv.ParseError](err); ok {
			r.quotes(e)
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

// quotes reports what the reader of CSV found wrong with quotes.
func (r *csvReader) quotes(e *csv.ParseError) {
	switch first := r.line(e.StartLine); {
	case errors.Is(e.Err, csv.ErrQuote) && strings.Count(first, `"`)%2 == 1:
		r.at(e.StartLine, 1+strings.LastIndexByte(first, '"'), "", `a quote " is opened here and not closed`, "close it on this line, or leave it out")
	case errors.Is(e.Err, csv.ErrQuote):
		r.at(e.Line, e.Column, "", `text follows behind a closing quote "`, "put the whole value in quotes, or leave them out")
	default:
		r.at(e.Line, e.Column, "", `a quote " stands within a value`, "leave it out")
	}
}

// place returns where a field of the row that was read last begins.
func (r *csvReader) place(field int) (line, column int) { return r.csv.FieldPos(field) }

// wrongRow reports a row that has not a value for each column.
func (r *csvReader) wrongRow(row []string, line int) bool {
	remedy := "give every row a value for each column"
	switch n := len(row); {
	case !slices.ContainsFunc(row, func(text string) bool { return strings.TrimSpace(text) != "" }):
		r.at(line, 0, "", "the row has no values", "leave it out")
		return true
	case n == r.fields:
		return false
	case n > r.fields && strings.TrimSpace(row[n-1]) == "":
		remedy = "leave out what separates nothing at its end"
	case n > r.fields:
		remedy += ", and write decimals with a point"
	}
	r.at(line, 0, "", fmt.Sprintf("the row has %d values where the first line names %d columns", len(row), r.fields), remedy)
	return true
}

// slip reports a number that a program for tables wrote in its own way.
func (r *csvReader) slip(text, name string, line, column int) bool {
	switch minus, dashed := language.WithMinus(text); {
	case dashed:
		r.at(line, column, text, fmt.Sprintf("%s is %q, which begins with a dash that is no minus sign", name, language.Brief(text)), "write "+language.Brief(minus))
	case strings.Contains(text, ",") && strings.Trim(text, "+-0123456789,") == "":
		r.at(line, column, text, fmt.Sprintf("%s is %q, which has a comma", name, language.Brief(text)), "write decimals with a point")
	default:
		return false
	}
	return true
}

// separated finds out what separates the columns: commas, or else semicolons; false after reporting that it is neither.
func (r *csvReader) separated() bool {
	line, first := r.firstLine()
	switch {
	case strings.Contains(first, ","):
	case strings.Contains(first, ";"):
		r.csv.Comma = ';'
	case strings.Contains(first, "\t"):
		r.at(line, 1+strings.IndexByte(first, '\t'), "", "the columns are separated by tabs", "separate them by commas, or by semicolons")
		return false
	}
	return true
}

// firstLine returns the first line that is no remark, and its number.
func (r *csvReader) firstLine() (n int, text string) {
	for line := range strings.Lines(string(r.source.Head().Text())) {
		n++
		if !strings.HasPrefix(line, "#") && strings.TrimSpace(line) != "" {
			return n, line
		}
	}
	return 1, ""
}
