package record

import (
	"cmp"
	"errors"
	"fmt"
	"os"
	"path"
	"path/filepath"
	"regexp"
	"runtime"
	"slices"
	"sync"
	"time"
)

// Entry is what a list of records says of one.
type Entry struct {
	Folder   string
	Began    time.Time // zero where the record does not say
	Label    string
	Firmware string // digest, as in [Result]
	Car      string
	Board    string
	Outcome  string // NOT SHOWN where the record has something wrong
	Wrong    string // the first thing that is wrong with it; empty: nothing
	Ended    bool
	Bytes    int64 // of all its files
}

// Entries lists the records under home, oldest first. A folder that cannot be read as a record
// is none and is left out. A home that does not exist holds none.
func Entries(home string) ([]Entry, error) {
	folders, err := List(home)
	if err != nil {
		return nil, err
	}
	entries := make([]Entry, len(folders))
	limit := make(chan struct{}, runtime.GOMAXPROCS(0))
	var wait sync.WaitGroup
	for i, folder := range folders {
		limit <- struct{}{}
		wait.Go(func() {
			if r, err := Read(folder); err == nil {
				entries[i] = entryOf(r)
			}
			<-limit
		})
	}
	wait.Wait()
	entries = slices.DeleteFunc(entries, func(e Entry) bool { return e.Folder == "" })
	slices.SortStableFunc(entries, func(a, b Entry) int {
		return cmp.Or(a.Began.Compare(b.Began), cmp.Compare(a.Folder, b.Folder))
	})
	return entries, nil
}

// entryOf returns what a list says of a record.
func entryOf(r *Record) Entry {
	e := Entry{
		Folder: r.Folder, Label: r.Result.Label, Firmware: r.Result.Firmware, Car: r.Result.Car.Name, Board: r.Result.Board.Name,
		Outcome: r.Result.Outcome, Ended: r.Ended,
	}
	e.Began, _ = time.Parse(time.RFC3339, r.Host.Began) // zero where it is no date
	if wrong := r.Wrong(); len(wrong) > 0 {
		e.Wrong = wrong[0]
	}
	for _, name := range partsOf(r.Folder) {
		if info, err := os.Lstat(filepath.Join(r.Folder, name)); err == nil {
			e.Bytes += info.Size()
		}
	}
	return e
}

// partOfRecord matches the names of files that a record consists of, with slashes.
var partOfRecord = regexp.MustCompile(`^(plan\.json|cases\.jsonl|host\.json|result\.json|along\.gz|SHA256SUMS|(wires|moments|forms|inputs)/[^/]+)(\.part)?$`)

// partsOf lists the files in a record's folder that belong to a record, by their paths within it.
func partsOf(folder string) (names []string) {
	for _, sub := range []string{"", wiresName, momentsName, formsName, inputsName} {
		entries, _ := os.ReadDir(filepath.Join(folder, sub)) // a record may be without it
		for _, e := range entries {
			name := path.Join(sub, e.Name())
			if e.Type().IsRegular() && partOfRecord.MatchString(name) {
				names = append(names, filepath.FromSlash(name))
			}
		}
	}
	return names
}

// youngest is how old a record whose run did not end is at least before it may be removed: its run
// may be under way.
const youngest = 24 * time.Hour

// ErrUnderWay says that a record is not removed, for its run may not have ended yet.
var ErrUnderWay = errors.New("its run may be under way")

// Remove removes the record of an entry, as it was at now: the files that a record consists of and its folders. What
// else lies there stays, and the folder with it; the error then says so.
func Remove(e Entry, now time.Time) error {
	if !e.Ended && now.Sub(e.Began) < youngest {
		return fmt.Errorf("%s is not removed: %w", e.Folder, ErrUnderWay)
	}
	for _, name := range partsOf(e.Folder) {
		if err := os.Remove(filepath.Join(e.Folder, name)); err != nil {
			return fmt.Errorf("record: %w", err)
		}
	}
	for _, sub := range []string{wiresName, momentsName, formsName, inputsName} {
		_ = os.Remove(filepath.Join(e.Folder, sub)) // what is not empty stays, and is found below
	}
	if err := os.Remove(e.Folder); err != nil {
		return fmt.Errorf("the record in %s is removed, its folder is not, for it holds what is no part of a record: %w", e.Folder, errors.Unwrap(err))
	}
	return nil
}

// Older returns the entries whose runs began before a time. One without a date is none.
func Older(entries []Entry, before time.Time) (old []Entry) {
	for _, e := range entries {
		if !e.Began.IsZero() && e.Began.Before(before) {
			old = append(old, e)
		}
	}
	return old
}

// RemoveAll removes the records of these entries, as [Remove] does, and returns how many it removed. The error says
// why others were not.
func RemoveAll(entries []Entry, now time.Time) (removed int, failed error) {
	for _, e := range entries {
		if err := Remove(e, now); err != nil {
			failed = errors.Join(failed, err)
			continue
		}
		removed++
	}
	return removed, failed
}

// Newest returns the last entry that keep takes; ok is false where there is none.
func Newest(entries []Entry, keep func(e *Entry) bool) (e Entry, ok bool) {
	for i := range slices.Backward(entries) {
		if keep(&entries[i]) {
			return entries[i], true
		}
	}
	return Entry{}, false
}

// Names lists the labels of records, each once, and then the names of their folders, the newest first: what a person may call
// one that [Named] finds.
func Names(entries []Entry) (names []string) {
	for _, e := range slices.Backward(entries) {
		if e.Label != "" && !slices.Contains(names, e.Label) {
			names = append(names, e.Label)
		}
	}
	for _, e := range slices.Backward(entries) {
		names = append(names, filepath.Base(e.Folder))
	}
	return names
}

// CaseNames lists the names of a result's cases, each once.
func (r *Result) CaseNames() (names []string) {
	for i := range r.Suites {
		for j := range r.Suites[i].Cases {
			if name := r.Suites[i].Cases[j].Name; !slices.Contains(names, name) {
				names = append(names, name)
			}
		}
	}
	return names
}
