// Package parts splits work among as many machines as do it, and reads the documents that they write.
package parts

import (
	"bytes"
	"crypto/sha256"
	"encoding/hex"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"strconv"
	"strings"

	"hilrig/suites/record"
)

// Shard is one of the parts that work is split into, for as many machines. The zero value is all of it.
type Shard struct{ Number, Of int } // Number is counted from 1

// mostShards is more machines than anybody has for this.
const mostShards = 1000

// ParseShard reads a part, written like 2/8.
func ParseShard(text string) (Shard, error) {
	number, of, ok := strings.Cut(text, "/")
	k, errK := strconv.Atoi(number)
	n, errN := strconv.Atoi(of)
	if !ok || errK != nil || errN != nil || n < 1 || n > mostShards || k < 1 || k > n {
		return Shard{}, fmt.Errorf("--shard %q is no part; write which and of how many, as 1/8 to 8/8", text)
	}
	return Shard{k, n}, nil
}

// Split says which part is played, and by what program. The zero value is all of it.
type Split struct {
	Shard   Shard
	Program string // version, so that parts of two versions are not taken as one
}

// ParseSplit reads which part this program plays; empty: all.
func ParseSplit(shard, program string) (Split, error) {
	if shard == "" {
		return Split{Program: program}, nil
	}
	s, err := ParseShard(shard)
	return Split{s, program}, err
}

// Head is what the document of a part says of itself.
type Head struct {
	Number  int    `json:"number"`  // counted from 1
	Of      int    `json:"of"`      // how many parts there are
	Program string `json:"program"` // version of the program that played it
	Inputs  string `json:"inputs"`  // sha256 of all that was played: files, boards, seed, length
	Digest  string `json:"digest"`  // sha256 of the document with digest empty and no space between tokens
}

// Head returns the head of a part of this work, which has no digest yet.
func (s Split) Head(inputs string) Head {
	return Head{Number: s.Shard.Number, Of: s.Shard.Of, Program: s.Program, Inputs: inputs}
}

// Document is what work came to, or a part of it, as written in JSON.
type Document interface {
	Head() *Head   // nil: it is the whole
	Ended() string // the outcome
}

// Seal gives a part the digest of its document.
func Seal(d Document) {
	d.Head().Digest = digest(d)
}

// digest returns the digest of a part's document, whatever digest it has.
func digest(d Document) string {
	head := d.Head()
	kept := head.Digest
	head.Digest = ""
	defer func() { head.Digest = kept }()
	data, err := json.Marshal(d)
	if err != nil {
		panic(err) // a document that can be written holds words and finite numbers alone
	}
	sum := sha256.Sum256(data)
	return hex.EncodeToString(sum[:])
}

// Read reads all parts of one piece of work from the files at these paths, in whatever order, as the command, like "hilrig
// faults", writes them with --json. Differ says in what two parts are not of the same work, beside their heads; empty: in
// nothing. A part that is missing, doubled, of other work, did not end or is not as it was written is an error with its
// file and the remedy.
func Read[T any, D interface {
	*T
	Document
}](paths []string, read func(path string) ([]byte, error), command string, differ func(a, b D) string) ([]D, error) {
	if len(paths) == 0 {
		return nil, errors.New("join: no part is named; name the files of the parts")
	}
	var parts []D
	file := map[int]string{} // by the number of the part in it
	for _, path := range paths {
		data, err := read(path)
		if err != nil {
			return nil, fmt.Errorf("join: %w", err)
		}
		d := D(new(T))
		if err := decode(data, path, command, d); err != nil {
			return nil, err
		}
		parts = append(parts, d)
		if other := apart(parts[0].Head(), d.Head()); other != "" {
			return nil, differentWork(paths[0], path, other)
		}
		if other := differ(parts[0], d); other != "" {
			return nil, differentWork(paths[0], path, other)
		}
		n := d.Head().Number
		if before, doubled := file[n]; doubled {
			return nil, fmt.Errorf("join: %s and %s are both part %d of %d; leave one out", before, path, n, d.Head().Of)
		}
		file[n] = path
	}
	of := parts[0].Head().Of
	for n := 1; n <= of; n++ {
		if file[n] == "" {
			return nil, fmt.Errorf("join: part %d of %d is missing; play it with --shard %d/%d, or name its file", n, of, n, of)
		}
	}
	return parts, nil
}

// decode reads one part.
func decode(data []byte, path, command string, into Document) error {
	d := json.NewDecoder(bytes.NewReader(data))
	d.DisallowUnknownFields()
	switch err := d.Decode(into); {
	case err != nil:
		return fmt.Errorf("join: %s is no part: %w; write it with %s --shard 2/8 --json", path, err, command)
	case into.Head() == nil:
		return fmt.Errorf("join: %s is no part but the whole; leave it out", path)
	case d.Decode(new(any)) != io.EOF || digest(into) != into.Head().Digest:
		return fmt.Errorf("join: %s is not what its digest says; play this part again", path)
	case into.Ended() != record.PartEnded:
		return fmt.Errorf("join: %s did not end; play part %d of %d again", path, into.Head().Number, into.Head().Of)
	}
	return nil
}

func differentWork(a, b, other string) error {
	return fmt.Errorf("join: %s and %s are parts of different work: they differ in %s; join parts of one", a, b, other)
}

// apart says in what the heads of two parts are not of the same work; empty: in nothing.
func apart(a, b *Head) string {
	switch {
	case a.Of != b.Of:
		return fmt.Sprintf("the number of parts, %d and %d", a.Of, b.Of)
	case a.Program != b.Program:
		return fmt.Sprintf("the version of hilrig, %s and %s", a.Program, b.Program)
	case a.Inputs != b.Inputs:
		return "files, boards, seed or length"
	}
	return ""
}
