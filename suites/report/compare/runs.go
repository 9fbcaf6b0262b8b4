package compare

import (
	"errors"
	"fmt"
	"io/fs"
	"os"

	"hilrig/suites/record"
	"hilrig/suites/report"
)

// Last is the name of the newest record that is GO with the car, bench and suites of another.
const Last = "last"

// Read reads the record in a folder with what is kept beside its result. The error says why it is not to be
// compared, and what to do.
func Read(folder string) (*Run, error) {
	r, err := record.Read(folder)
	if err != nil {
		return nil, err
	}
	if wrong := r.Wrong(); len(wrong) > 0 {
		return nil, fmt.Errorf("record %s is not compared: %s; hilrig report %s shows what there is of it, run again for a whole one", folder, wrong[0], folder)
	}
	if report.OfStand(r.Result) {
		return nil, fmt.Errorf("record %s is of a speed controller, and those are not compared; hilrig report shows its figures", folder)
	}
	run := &Run{Record: r, Alongs: map[Place]*record.Along{}}
	if run.Inputs, err = record.Inputs(folder); err != nil {
		return nil, err
	}
	err = record.Alongs(folder, func(suite, index int, a *record.Along) { run.Alongs[Place{Suite: suite, Index: index}] = a })
	if err != nil && !errors.Is(err, fs.ErrNotExist) {
		return nil, err
	}
	return run, nil
}

// Named reads the record of a name, as [record.Named] finds it, or of [Last], which is the newest
// that is GO and can be compared with what is planned.
func Named(name, home string, planned *Run) (*Run, error) {
	if info, err := os.Stat(name); name == Last && (err != nil || !info.IsDir()) {
		entries, err := record.Entries(home)
		if err != nil {
			return nil, err
		}
		return last(entries, home, planned)
	}
	folder, err := record.Named(name, home)
	if err != nil {
		return nil, err
	}
	return Read(folder)
}

// Both reads two records by their names, as [record.Named] finds them. The error says what is wrong with either, once.
func Both(before, after, home string) (a, b *Run, err error) {
	read := func(name string) (*Run, error) {
		folder, err := record.Named(name, home)
		if err != nil {
			return nil, err
		}
		return Read(folder)
	}
	a, errA := read(before)
	if before == after {
		return a, a, errA
	}
	b, errB := read(after)
	return a, b, errors.Join(errA, errB)
}

// last reads the newest record that is GO and of the same as what is planned.
func last(entries []record.Entry, home string, planned *Run) (found *Run, err error) {
	_, ok := record.Newest(entries, func(e *record.Entry) bool {
		if e.Outcome != record.Go || e.Wrong != "" || e.Car != planned.Record.Result.Car.Name {
			return false
		}
		found, err = Read(e.Folder)
		return err == nil && SamePlan(found, planned)
	})
	if !ok {
		return nil, fmt.Errorf("no record in %s is GO with the same car, bench and suites; a run without --against that ends GO makes one", home)
	}
	return found, nil
}
