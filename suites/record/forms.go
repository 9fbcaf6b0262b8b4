package record

import (
	"cmp"
	"io"
	"os"
	"path/filepath"
)

// formsName is the folder of a record that keeps what its run came to in other forms.
const formsName = "forms"

// Form keeps what the run came to in another form, as a picture or a table, in a file of this
// name, which has no folder in it. One that is kept already is replaced.
func (w *Writer) Form(name string, data []byte) error {
	if w.folder == "" {
		return nil
	}
	_ = os.Mkdir(filepath.Join(w.folder, formsName), 0o700) // it may be there; where it cannot be made, write says so
	err := w.write(filepath.Join(formsName, name), data)
	w.mu.Lock()
	defer w.mu.Unlock()
	w.err = cmp.Or(w.err, err)
	return err
}

// ReadForm returns the first bytes, most at most, of what the record in folder keeps under that name in another form.
func ReadForm(folder, name string, most int64) ([]byte, error) {
	f, err := os.Open(filepath.Join(folder, formsName, filepath.Base(name)))
	if err != nil {
		return nil, err
	}
	defer func() { _ = f.Close() }() // nothing was written
	return io.ReadAll(io.LimitReader(f, most))
}

// Forms lists the names of what the record in folder keeps in other forms, sorted.
func Forms(folder string) (names []string) {
	entries, _ := os.ReadDir(filepath.Join(folder, formsName)) // a record may be without them
	for _, e := range entries {
		names = append(names, e.Name())
	}
	return names
}
