package record

import (
	"bytes"
	"crypto/sha256"
	"encoding/hex"
	"errors"
	"fmt"
	"io/fs"
	"maps"
	"os"
	"path"
	"path/filepath"
	"regexp"
	"slices"
	"strings"
)

// sumsName is the file of a record that holds a digest of every other, in the form that
// sha256sum of GNU coreutils writes and checks.
const sumsName = "SHA256SUMS"

// sumLine is one line of that file: the digest in hex, two blanks, the name with slashes.
var sumLine = regexp.MustCompile(`^([0-9a-f]{64})  ([^\\\n]+)\n$`)

// sumOf returns the SHA-256 of data in hex.
func sumOf(data []byte) string {
	sum := sha256.Sum256(data)
	return hex.EncodeToString(sum[:])
}

// writeSums writes the digests of all files as they were written. They are not read back:
// what the disk corrupted meanwhile is to be found later.
func (w *Writer) writeSums() error {
	w.mu.Lock()
	sums := maps.Clone(w.sums)
	sums[casesName] = hex.EncodeToString(w.casesSum.Sum(nil))
	w.mu.Unlock()
	var b strings.Builder
	for _, name := range slices.Sorted(maps.Keys(sums)) {
		fmt.Fprintf(&b, "%s  %s\n", sums[name], name)
	}
	return w.write(sumsName, []byte(b.String()))
}

// verify holds the files of the record in folder against their digests and returns what
// is wrong, a sentence each. read holds the contents of files that were read before.
func verify(folder string, read map[string][]byte) (wrong []string) {
	say := func(format string, args ...any) { wrong = append(wrong, fmt.Sprintf(format, args...)) }
	text, err := readFile(filepath.Join(folder, sumsName))
	if errors.Is(err, fs.ErrNotExist) {
		say("there is no %s, so that nothing shows whether the files are as they were written: it was lost, or the record is older than digests of files", sumsName)
		return wrong
	}
	if err != nil {
		say("%s cannot be read: %v", sumsName, err)
		return wrong
	}
	sums, bad := parseSums(text)
	for _, n := range bad {
		say("line %d of %s cannot be read", n, sumsName)
	}
	for _, name := range slices.Sorted(maps.Keys(sums)) {
		data, ok := read[name]
		if !ok || data == nil {
			data, err = readFile(filepath.Join(folder, filepath.FromSlash(name)))
		} else {
			err = nil
		}
		switch {
		case errors.Is(err, fs.ErrNotExist):
			say("%s is missing", name)
		case err != nil:
			say("%s cannot be read: %v", name, err)
		case sumOf(data) != sums[name]:
			say("%s is not what its digest says", name)
		}
	}
	for _, name := range withSum(folder) {
		if _, ok := sums[name]; !ok {
			say("%s has no digest in %s", name, sumsName)
		}
	}
	return wrong
}

// parseSums reads digests by name, and returns which lines, counted from 1, are none.
func parseSums(text []byte) (sums map[string]string, bad []int) {
	sums = map[string]string{}
	number := 0
	for line := range bytes.Lines(text) {
		number++
		m := sumLine.FindSubmatch(line)
		if m == nil || !filepath.IsLocal(filepath.FromSlash(string(m[2]))) || sums[string(m[2])] != "" {
			bad = append(bad, number)
			continue
		}
		sums[string(m[2])] = string(m[1])
	}
	return sums, bad
}

// withSum lists the files that a record whose run ended has to have a digest of: the four
// that every record has, the commands along its cases where it keeps them, and whatever is in its folders.
func withSum(folder string) []string {
	names := []string{planName, casesName, hostName, resultName}
	if exists(filepath.Join(folder, alongName)) {
		names = append(names, alongName)
	}
	for _, sub := range []string{inputsName, wiresName, momentsName, formsName} {
		entries, _ := os.ReadDir(filepath.Join(folder, sub)) // a record may be without it
		for _, e := range entries {
			names = append(names, path.Join(sub, e.Name()))
		}
	}
	return names
}
