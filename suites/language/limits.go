package language

import (
	"bytes"
	"fmt"
	"strings"
	"unicode/utf8"

	"github.com/goccy/go-yaml/lexer"
	"github.com/goccy/go-yaml/token"
)

// What a file may be at most. They stand far above any file written by hand,
// and low enough that no file keeps the program busy.
const (
	MostBytes  = 1 << 19 // of a file written by hand
	mostTokens = 60_000
	mostDepth  = 24
	mostNodes  = 100_000 // with aliases counted as if written out
)

// tokenize looks for what no YAML parser should be given: files that are too
// large, that are not text, that indent with tabs, or that nest without end. It
// returns the tokens, or reports problems.
func (r *Reader) tokenize() (token.Tokens, bool) {
	if size := len(r.Source.Data); size > MostBytes {
		r.reportAt(1, 1, "", fmt.Sprintf("the file has %d bytes, more than %d", size, MostBytes), "give a file written by hand; recorded data do not belong here")
		return nil, false
	}
	data := r.Source.Text()
	if !r.isText(data) || !r.noTabs() {
		return nil, false
	}
	tokens := lexer.Tokenize(string(data))
	if len(tokens) > mostTokens {
		r.reportAt(1, 1, "", fmt.Sprintf("the file has %d values and marks, more than %d", len(tokens), mostTokens), "split it into several files")
		return nil, false
	}
	return tokens, r.shallow(tokens)
}

// isText reports the first byte that is not text.
func (r *Reader) isText(data []byte) bool {
	p, ok := NotText(data)
	if !ok {
		r.reportAt(p.Line, p.Column, "", p.Message, p.Remedy)
	}
	return ok
}

// NotText returns what is wrong with the first byte that is not text, without
// the file's name; ok is true where all is text.
func NotText(data []byte) (p Problem, ok bool) {
	if bytes.HasPrefix(data, []byte("\xff\xfe")) || bytes.HasPrefix(data, []byte("\xfe\xff")) {
		p.Line, p.Column, p.Message, p.Remedy = 1, 1, "the file is written in UTF-16", "save it as plain text in UTF-8"
		return p, false
	}
	for i := 0; i < len(data); {
		c, size := utf8.DecodeRune(data[i:])
		if c == utf8.RuneError && size <= 1 || c < ' ' && c != '\n' && c != '\r' && c != '\t' || c == 0x7f || c == 0xfeff || c == 0x2028 || c == 0x2029 || c == 0x85 {
			p.Line = 1 + bytes.Count(data[:i], []byte{'\n'})
			p.Column = 1 + utf8.RuneCount(data[bytes.LastIndexByte(data[:i], '\n')+1:i])
			p.Message, p.Remedy = fmt.Sprintf("byte 0x%02x is not text", data[i]), "write the file as plain text in UTF-8"
			return p, false
		}
		if c == '\r' {
			p.Line, p.Column = 1+bytes.Count(data[:i], []byte{'\n'}), 1
			p.Message, p.Remedy = "a line ends in a carriage return alone", "end lines with a line feed"
			return p, false
		}
		i += size
	}
	return p, true
}

// noTabs reports every line that is indented with a tab.
func (r *Reader) noTabs() bool {
	fine := true
	for i, line := range r.lines {
		blank := line[:len(line)-len(strings.TrimLeft(line, " \t"))]
		if at := strings.IndexByte(blank, '\t'); at >= 0 && strings.TrimSpace(line) != "" {
			r.reportAt(i+1, at+1, "", "the line is indented with a tab", "indent with spaces")
			fine = false
		}
	}
	return fine
}

// shallow reports nesting beyond mostDepth, which a parser that calls itself for
// each level could not bear. Levels are flow brackets that are open, and block
// marks that stand on one line.
func (r *Reader) shallow(tokens token.Tokens) bool {
	open, line, onLine := 0, 0, 0
	for _, t := range tokens {
		if t.Position.Line != line {
			line, onLine = t.Position.Line, 0
		}
		switch t.Type {
		case token.MappingStartType, token.SequenceStartType:
			open++
		case token.MappingEndType, token.SequenceEndType:
			open = max(open-1, 0)
		case token.SequenceEntryType, token.MappingKeyType, token.AnchorType, token.TagType:
			if open == 0 {
				onLine++
			}
		}
		if open > mostDepth || onLine > mostDepth {
			r.reportAt(t.Position.Line, t.Position.Column, "", fmt.Sprintf("values are nested more than %d deep", mostDepth), "")
			return false
		}
	}
	return true
}
