package report

import (
	"encoding/csv"
	"fmt"
	"io"
	"maps"
	"math"
	"os"
	"path/filepath"
	"slices"
	"strconv"
	"strings"

	"hilrig/plant"
	"hilrig/rig/trace"
	"hilrig/suites/record"
)

// ChecksCSV and CasesCSV are the names of the tables of a run that stand beside those of its cases.
const (
	ChecksCSV = "checks.csv"
	CasesCSV  = "cases.csv"
)

// wholeRecord is what fails, in any form, of a record with which something is wrong.
const wholeRecord = "the record is whole"

// CSV writes a record as tables (RFC 4180) into a folder, which is made: one line for each check,
// one for each case, and for each case of which the record keeps the commands a file of its own,
// one line for each 10 ms. The first line of a file names its columns with their units. Texts that a
// spreadsheet would take as a formula begin with an apostrophe. What is wrong with the record stands as lines of its own
// before those of checks and of cases.
func CSV(folder string, r *record.Record) error {
	if err := os.MkdirAll(folder, 0o755); err != nil {
		return err
	}
	if err := tableIn(folder, ChecksCSV, checkRows(r)); err != nil {
		return err
	}
	files := map[[2]int]string{}
	var failed error
	err := record.Alongs(r.Folder, func(suite, index int, a *record.Along) {
		if failed != nil || suite < 0 || suite >= len(r.Result.Suites) || index < 0 || index >= len(r.Result.Suites[suite].Cases) {
			return
		}
		name := fileOf(r.Result, suite, index)
		files[[2]int{suite, index}] = name
		failed = tableIn(folder, name, alongRows(a))
	})
	if failed != nil {
		return failed
	}
	if written := tableIn(folder, CasesCSV, caseRows(r, files)); written != nil {
		return written
	}
	if err != nil {
		return fmt.Errorf("%s: the tables of its cases are not written: %w", r.Folder, err)
	}
	return nil
}

// tableIn writes rows into a file of a folder.
func tableIn(folder, name string, rows [][]string) (err error) {
	f, err := os.Create(filepath.Join(folder, name))
	if err != nil {
		return err
	}
	defer func() {
		if closed := f.Close(); err == nil {
			err = closed
		}
	}()
	return table(f, rows)
}

// table writes rows, with what could be a formula made a text.
func table(out io.Writer, rows [][]string) error {
	w := csv.NewWriter(out)
	for _, row := range rows {
		for i, cell := range row {
			row[i] = harmless(cell)
		}
		if err := w.Write(row); err != nil {
			return err
		}
	}
	w.Flush()
	return w.Error()
}

// harmless returns a cell that no spreadsheet takes as a formula: a number, or a text that begins
// with none of the characters by which one is recognised (common practice, no source).
func harmless(cell string) string {
	if cell == "" {
		return cell
	}
	if _, err := strconv.ParseFloat(cell, 64); err == nil {
		return cell
	}
	cell = oneLine(cell)
	if cell != "" && strings.ContainsRune("=+-@|%", rune(cell[0])) {
		return "'" + cell
	}
	return cell
}

// fileOf names the table of a case: by its place in the plan and what of its name is a letter of
// ASCII or a digit.
func fileOf(r *record.Result, suite, index int) string {
	c := &r.Suites[suite].Cases[index]
	var name strings.Builder
	for _, x := range strings.ToLower(r.Suites[suite].Name + " " + c.Title()) {
		if x >= 'a' && x <= 'z' || x >= '0' && x <= '9' {
			name.WriteRune(x)
		} else if text := name.String(); text != "" && text[len(text)-1] != '-' {
			name.WriteByte('-')
		}
	}
	text := name.String()
	return fmt.Sprintf("%02d-%03d-%s.csv", suite, index, strings.Trim(text[:min(len(text), 80)], "-"))
}

// units of the channels that a record keeps, as they stand in the first line.
var units = map[string]string{
	trace.Speed.String(): "m/s", trace.YawRate.String(): "rad/s", trace.Steer.String(): "rad",
	trace.Throttle.String(): "1", trace.Gain.String(): "1", trace.PositionX.String(): "m", trace.PositionY.String(): "m",
}

// unitOf returns the unit of a channel by its name in a record.
func unitOf(name string) string {
	for _, prefix := range []string{record.WithoutShift, record.WithoutBoard} {
		name = strings.TrimPrefix(name, prefix)
	}
	if unit := units[name]; unit != "" {
		return unit
	}
	return "1"
}

// alongRows returns the table of a case.
func alongRows(a *record.Along) [][]string {
	played := slices.Sorted(maps.Keys(a.Played))
	head := []string{"time (s)"}
	for _, name := range played {
		head = append(head, name+" ("+unitOf(name)+")")
	}
	for _, w := range plant.Wheels {
		motor := "motor." + w.String()
		head = append(head, motor+" mean (1)", motor+" lowest (1)", motor+" highest (1)")
	}
	rows := [][]string{head}
	for i := range a.Motors[0].Mean {
		row := []string{strconv.FormatFloat(float64(i)*float64(a.BinNS)/1e9, 'f', 3, 64)}
		for _, name := range played {
			row = append(row, number(a.Played[name][i]))
		}
		for m := range a.Motors {
			k := &a.Motors[m]
			row = append(row, number(k.Mean[i]), number(k.Low[i]), number(k.High[i]))
		}
		rows = append(rows, row)
	}
	return rows
}

// number writes a value to five digits after the point; nothing where there is none.
func number(x float64) string {
	if math.IsNaN(x) {
		return ""
	}
	return Fixed(x, 5)
}

// optional writes a number of a check; nothing where there is none.
func optional(x *float64) string {
	if x == nil {
		return ""
	}
	return strconv.FormatFloat(*x, 'g', 9, 64)
}

// checkRows returns the table of all checks.
func checkRows(of *record.Record) [][]string {
	rows := [][]string{{
		"suite", "case", "variant", "check", "step", "verdict", "quantity", "unit", "estimate", "low", "high",
		"limit low", "limit high", "time (s)", "why", "file", "line",
	}}
	for _, text := range of.Wrong() {
		rows = append(rows, []string{"record", "", "", wholeRecord, "", record.Undecided, "", "", "", "", "", "", "", "", text, "", ""})
	}
	r := of.Result
	for i := range r.Suites {
		for j := range r.Suites[i].Cases {
			c := &r.Suites[i].Cases[j]
			for k := range c.Checks {
				x := &c.Checks[k]
				rows = append(rows, []string{
					r.Suites[i].Name, c.Name, c.Variant, x.Name, x.Step, x.Verdict, x.Quantity, x.Unit,
					optional(x.Estimate), optional(x.Low), optional(x.High), optional(x.LimitLow), optional(x.LimitHigh),
					seconds(x.AtNS), x.Why, x.File, strconv.Itoa(x.Line),
				})
			}
		}
	}
	return rows
}

// caseRows returns the table of all cases, with the files that hold those of each.
func caseRows(of *record.Record, files map[[2]int]string) [][]string {
	rows := [][]string{{"suite", "case", "variant", "verdict", "why", "start (s)", "length (s)", "file"}}
	for _, text := range of.Wrong() {
		rows = append(rows, []string{"record", wholeRecord, "", record.Undecided, text, "", "", ""})
	}
	r := of.Result
	for i := range r.Suites {
		for j := range r.Suites[i].Cases {
			c := &r.Suites[i].Cases[j]
			rows = append(rows, []string{
				r.Suites[i].Name, c.Name, c.Variant, c.Verdict, c.Why, seconds(c.StartNS), seconds(c.LengthNS), files[[2]int{i, j}],
			})
		}
	}
	return rows
}
