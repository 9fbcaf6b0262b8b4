package live

import (
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"io/fs"

	"hilrig/suites/file"
	"hilrig/suites/language"
)

// Inputs are the files that a run is made of, each as it was read first. The process that
// has the list confirmed reads them; the one that plays is handed them and reads nothing
// else, so that what was confirmed is what is played, whatever is saved meanwhile. It is
// used by one goroutine at a time.
type Inputs struct {
	read  func(path string, most int64) ([]byte, error) // nil: there is no more than in files
	files map[string][]byte
}

// NewInputs returns inputs that read says the content of, by path, of at most so many bytes. It is called
// once for each path that it can be read at.
func NewInputs(read func(path string, most int64) ([]byte, error)) *Inputs {
	return &Inputs{read: read, files: map[string][]byte{}}
}

// Read returns the content of the file at a path that somebody wrote by hand, which is not to be changed:
// what it was when it was read first. Inputs that were handed over fail for a file that was not read before.
func (i *Inputs) Read(path string) ([]byte, error) { return i.upTo(path, language.MostBytes) }

// ReadLog returns in the same way what is in a drive log, which may be larger.
func (i *Inputs) ReadLog(path string) ([]byte, error) { return i.upTo(path, file.MostLogBytes) }

// ReadMeasured returns in the same way what a dynamometer wrote.
func (i *Inputs) ReadMeasured(path string) ([]byte, error) {
	return i.upTo(path, file.MostDynamometerBytes)
}

func (i *Inputs) upTo(path string, most int64) ([]byte, error) {
	if data, ok := i.files[path]; ok {
		return data, nil
	}
	if i.read == nil {
		return nil, fmt.Errorf("%s was not read before the bench went live, and is not read now; start again", path)
	}
	data, err := i.read(path, most)
	if err == nil {
		i.files[path] = data
	}
	return data, err
}

// Find returns the content of a file that need not be there; ok says whether it is. The error is that of one which is there
// and cannot be read. Of inputs that were handed over, what was not read before is not there.
func (i *Inputs) Find(path string) (data []byte, ok bool, err error) {
	data, err = i.Read(path)
	if err != nil && (i.read == nil || errors.Is(err, fs.ErrNotExist)) {
		return nil, false, nil
	}
	return data, err == nil, err
}

// Give hands over what was read so far. It blocks as the writer does.
func (i *Inputs) Give(w io.Writer) error {
	if err := json.NewEncoder(w).Encode(i.files); err != nil {
		return fmt.Errorf("the files of the run are not handed over: %w", err)
	}
	return nil
}

// ReadInputs returns what was handed over, to the reader's end. From then on no other file
// can be read.
func ReadInputs(r io.Reader) (*Inputs, error) {
	data, err := io.ReadAll(r)
	i := &Inputs{}
	if err == nil {
		err = json.Unmarshal(data, &i.files)
	}
	if err != nil {
		return nil, fmt.Errorf("the files of the run were not handed over: %w; start again", err)
	}
	return i, nil
}
