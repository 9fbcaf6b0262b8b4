package record

import (
	"bytes"
	"cmp"
	"compress/gzip"
	"fmt"
	"io"
	"os"
	"path/filepath"
)

// wiresName is the folder of a record that keeps what was on the wires of cases.
const wiresName = "wires"

// wiresOf is the file of a case's wires within the record's folder.
func wiresOf(suite, index int) string {
	return filepath.Join(wiresName, fmt.Sprintf("%d-%d.vcd.gz", suite, index))
}

// Wires keeps what was on the wires of a case, a value change dump that dump writes;
// suite and index are the case's place in the plan. A case's wires are kept once, before the
// case itself as a rule.
func (w *Writer) Wires(suite, index int, dump func(io.Writer) error) error {
	if w.folder == "" {
		return nil
	}
	_ = os.Mkdir(filepath.Join(w.folder, wiresName), 0o700) // it may be there; where it cannot be made, write says so
	var packed bytes.Buffer
	z := gzip.NewWriter(&packed)
	err := cmp.Or(dump(z), z.Close())
	if err != nil {
		err = fmt.Errorf("record: wires: %w", err)
	} else {
		err = w.write(wiresOf(suite, index), packed.Bytes())
	}
	w.mu.Lock()
	defer w.mu.Unlock()
	if err == nil {
		w.dumps++
	}
	w.err = cmp.Or(w.err, err)
	return err
}

// HasWires says whether the record in folder keeps wires of a case.
func HasWires(folder string, suite, index int) bool {
	_, err := os.Stat(filepath.Join(folder, wiresOf(suite, index)))
	return err == nil
}

// Wires writes the value change dump of a case's wires that the record in folder keeps.
func Wires(folder string, suite, index int, out io.Writer) error {
	data, err := readFile(filepath.Join(folder, wiresOf(suite, index)))
	if err != nil {
		return fmt.Errorf("record: wires: %w", err)
	}
	z, err := gzip.NewReader(bytes.NewReader(data))
	if err == nil {
		_, err = io.Copy(out, z)
	}
	if err != nil {
		return fmt.Errorf("record %s: %s: %w", folder, wiresOf(suite, index), err)
	}
	return nil
}
