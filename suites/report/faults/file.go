package faults

import (
	"bufio"
	"bytes"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"maps"
	"os"
	"regexp"
	"slices"
	"strconv"

	"hilrig/suites/record"
)

// Write writes the table, one JSON text a line, sorted: first of each board what passes without a
// fault, then each of its faults. Cases and variants are left out where they are all there are, so that few lines say
// everything.
func (t *Table) Write(w io.Writer) error {
	out := json.NewEncoder(w)
	out.SetEscapeHTML(false)
	for _, b := range t.Boards {
		rows := rowsOf(b.Name, "", b.Sound, nil)
		for _, f := range b.Faults {
			of := rowsOf(b.Name, f.Name, f.Unmet, b.Sound)
			if len(of) == 0 {
				of = []row{{Board: b.Name, Fault: f.Name}}
			}
			rows = append(rows, of...)
		}
		for i := range rows {
			if err := out.Encode(&rows[i]); err != nil {
				return err
			}
		}
	}
	return nil
}

// Read reads a table that Write wrote. Its error names the line.
func Read(r io.Reader) (*Table, error) {
	t := &reading{}
	lines := bufio.NewScanner(r)
	lines.Buffer(nil, 1<<20)
	for n := 1; lines.Scan(); n++ {
		var one row
		if err := json.Unmarshal(lines.Bytes(), &one); err != nil {
			return nil, fmt.Errorf("line %d: %w", n, err)
		}
		if err := t.take(&one); err != nil {
			return nil, fmt.Errorf("line %d: %w", n, err)
		}
	}
	return &t.Table, lines.Err()
}

// ReadFile reads the table in a file. Of a file that is not there yet it is empty.
func ReadFile(path string) (*Table, error) {
	data, err := os.ReadFile(path)
	if err != nil && !errors.Is(err, fs.ErrNotExist) {
		return nil, err
	}
	t, err := Read(bytes.NewReader(data))
	if err != nil {
		return nil, fmt.Errorf("%s: %w; take the file away and have all suites played", path, err)
	}
	return t, nil
}

// reading is a table that is being read.
type reading struct {
	Table
	everywhere map[string]map[checkOf]places // where the checks of a suite pass on the last board without a fault
}

// take takes a row into the table.
func (t *reading) take(r *row) error {
	b := t.board(r.Board)
	if r.Fault == "" {
		t.everywhere = nil
		return unfold(b.Sound, r, nil)
	}
	if t.everywhere == nil {
		t.everywhere = map[string]map[checkOf]places{}
		for suite, of := range placesOf(b.Sound) {
			t.everywhere[suite] = of[record.Pass]
		}
	}
	f := b.fault(r.Fault)
	if r.Suite == "" {
		return nil
	}
	return unfold(f.Unmet, r, t.everywhere[r.Suite])
}

// board returns the board of this name, which is the last one or new.
func (t *reading) board(name string) *Board {
	if n := len(t.Boards); n > 0 && t.Boards[n-1].Name == name {
		return t.Boards[n-1]
	}
	b := &Board{Name: name, Sound: Verdicts{}}
	t.Boards = append(t.Boards, b)
	return b
}

// fault returns the fault of this name, which is the last one or new.
func (b *Board) fault(name string) *Fault {
	if n := len(b.Faults); n > 0 && b.Faults[n-1].Name == name {
		return b.Faults[n-1]
	}
	f := &Fault{Board: b.Name, Name: name, Unmet: Verdicts{}}
	b.Faults = append(b.Faults, f)
	return f
}

// unfold adds what a row says to verdicts; cases and variants that it leaves out are as everywhere has them.
func unfold(v Verdicts, r *row, everywhere map[checkOf]places) error {
	rank := r.rank()
	if rank < 0 {
		return errors.New("the row has no checks")
	}
	for _, text := range *r.checks(verdicts[rank]) {
		of := readCheck(text)
		cases := r.Cases
		if len(cases) == 0 {
			cases = slices.Collect(maps.Keys(everywhere[of]))
		}
		if len(cases) == 0 {
			return fmt.Errorf("check %q of suite %q has no cases, and passes in none without a fault", text, r.Suite)
		}
		for _, name := range cases {
			for _, variant := range firstOf(r.Variants, everywhere[of][name], []string{""}) {
				v[Key{r.Suite, name, variant, of.name, of.nth}] = verdicts[rank]
			}
		}
	}
	return nil
}

// firstOf returns the first list that has something in it.
func firstOf(lists ...[]string) []string {
	i := slices.IndexFunc(lists, func(l []string) bool { return len(l) > 0 })
	return lists[i]
}

// written writes a check as the file has it.
func written(of checkOf) string {
	if of.nth == 0 {
		return of.name
	}
	return fmt.Sprintf("%s (%d)", of.name, of.nth+1)
}

// counted is a check that is not the first of its name; the name itself has no digits.
var counted = regexp.MustCompile(`^(.*) \(([0-9]{1,4})\)$`)

// readCheck reads a check as the file has it.
func readCheck(text string) checkOf {
	if m := counted.FindStringSubmatch(text); m != nil {
		n, _ := strconv.Atoi(m[2]) // four digits
		return checkOf{m[1], n - 1}
	}
	return checkOf{text, 0}
}
