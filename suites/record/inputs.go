package record

import (
	"encoding/json"
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
	"slices"
	"strconv"
)

// inputsName is the folder of a record that keeps the files that were run, and
// the list in it that says what each was.
const inputsName, inputsList = "inputs", "list.json"

// The roles of an input.
const (
	CarInput   = "car"
	BenchInput = "bench"
	SuiteInput = "suite"
	LogInput   = "log" // a drive log, or the file of a dynamometer
	StandInput = "stand"
)

// Input is one file that went into a run, as it was read.
type Input struct {
	Role string `json:"role"` // "car", "bench", "suite", "log" or "stand"
	Path string `json:"path"` // as it was named
	Data []byte `json:"-"`
}

// Inputs keeps the files that go into the run, so that the record can be played
// again. Call it once, before the first case.
func (w *Writer) Inputs(inputs []Input) error {
	folder := filepath.Join(w.folder, inputsName)
	if err := os.Mkdir(folder, 0o700); err != nil {
		return fmt.Errorf("record: %w", err)
	}
	for i, in := range inputs {
		if err := w.write(filepath.Join(inputsName, strconv.Itoa(i)), in.Data); err != nil {
			return err
		}
	}
	list, err := encode(inputs)
	if err != nil {
		return fmt.Errorf("record: %w", err)
	}
	return w.write(filepath.Join(inputsName, inputsList), indented(list))
}

// Inputs reads the files that went into the run of the record in folder. A record
// without them is an error.
func Inputs(folder string) ([]Input, error) {
	list, err := readFile(filepath.Join(folder, inputsName, inputsList))
	if errors.Is(err, fs.ErrNotExist) {
		return nil, fmt.Errorf("record %s keeps no %s; it cannot be played again", folder, inputsName)
	}
	if err != nil {
		return nil, fmt.Errorf("record: %w", err)
	}
	var inputs []Input
	if err := json.Unmarshal(list, &inputs); err != nil {
		return nil, fmt.Errorf("record %s: %s/%s: %w", folder, inputsName, inputsList, err)
	}
	for _, role := range []string{CarInput, BenchInput, SuiteInput} {
		if !slices.ContainsFunc(inputs, func(in Input) bool { return in.Role == role }) {
			return nil, fmt.Errorf("record %s: %s/%s names no %s; it cannot be played again", folder, inputsName, inputsList, role)
		}
	}
	for i := range inputs {
		if inputs[i].Data, err = readFile(filepath.Join(folder, inputsName, strconv.Itoa(i))); err != nil {
			return nil, fmt.Errorf("record: %w", err)
		}
	}
	return inputs, nil
}
