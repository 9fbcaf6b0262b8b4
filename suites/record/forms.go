package record

import (
	"cmp"
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

// Forms lists the names of what the record in folder keeps in other forms, sorted.
func Forms(folder string) (names []string) {
	entries, _ := os.ReadDir(filepath.Join(folder, formsName)) // a record may be without them
	for _, e := range entries {
		names = append(names, e.Name())
	}
	return names
}
