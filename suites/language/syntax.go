package language

import (
	"errors"
	"fmt"
	"strings"

	"github.com/goccy/go-yaml"
	"github.com/goccy/go-yaml/token"
)

// said are sentences of the YAML parser, each with what it means to who wrote the file, and what to do.
var said = []struct{ sentence, message, remedy string }{
	{"could not find end character of single-quoted text", "a quote ' is opened here and not closed", "close it, or leave it out"},
	{"could not find end character of double-quoted text", "a quote \" is opened here and not closed", "close it, or leave it out"},
	{"mapping value is not allowed in this context", "a colon stands within a value", "put a text with a colon in quotes, and a table in braces, {key: value}"},
	{"value is not allowed in this context", "the line does not go with those above it", "give it the indentation of its neighbours, and begin each entry of a list with a dash"},
	{"non-map value is specified", "a value stands where a key is expected", "write key: value, with a colon and a blank"},
	{"reserved character", "", "put the text in quotes"},
}

// syntax reports what the YAML parser said of a file that consists of these tokens.
func (r *Reader) syntax(err error, tokens token.Tokens) {
	sentence, line, column := err.Error(), 1, 1
	if e, ok := errors.AsType[yaml.Error](err); ok {
		sentence = e.GetMessage()
		if t := e.GetToken(); t != nil && t.Position != nil {
			line, column = t.Position.Line, max(t.Position.Column, 1)
		}
	}
	sentence, _, _ = strings.Cut(sentence, "\n")
	if t := tornQuote(tokens, line); t != nil {
		p := r.token(t)
		r.reportAt(p.Line, p.Column, "", "a quote is opened here and not closed before the line ends", "close it, or leave it out")
		return
	}
	if open := unclosed(tokens); len(open) > 0 && !strings.Contains(sentence, "quoted") && !strings.Contains(sentence, "reserved") {
		for _, t := range open {
			closing := "}"
			if t.Type == token.SequenceStartType {
				closing = "]"
			}
			p := r.token(t)
			r.reportAt(p.Line, p.Column, "", fmt.Sprintf("a bracket %s is opened here and not closed", t.Value), "close it with "+closing)
		}
		return
	}
	message, remedy := "not readable as YAML: "+Brief(sentence), "check the colons, brackets, quotes and indentation around it"
	for _, s := range said {
		if strings.Contains(sentence, s.sentence) {
			remedy = s.remedy
			if s.message != "" {
				message = s.message
			}
			break
		}
	}
	r.reportAt(line, column, "", message, remedy)
}

// tornQuote returns the first text in quotes that goes on over a line's end and ends in the line of what cannot be read: the quote
// that ends it was meant to open another; nil: there is none.
func tornQuote(tokens token.Tokens, wrong int) *token.Token {
	for _, t := range tokens {
		if t.Position == nil || t.Type != token.SingleQuoteType && t.Type != token.DoubleQuoteType {
			continue
		}
		if more := strings.Count(strings.TrimSpace(t.Origin), "\n"); more > 0 && t.Position.Line+more == wrong {
			return t
		}
	}
	return nil
}

// unclosed returns the brackets that are opened and not closed.
func unclosed(tokens token.Tokens) (open []*token.Token) {
	closes := map[token.Type]token.Type{token.MappingEndType: token.MappingStartType, token.SequenceEndType: token.SequenceStartType}
	for _, t := range tokens {
		switch t.Type {
		case token.MappingStartType, token.SequenceStartType:
			open = append(open, t)
		case token.MappingEndType, token.SequenceEndType:
			if n := len(open); n > 0 && open[n-1].Type == closes[t.Type] {
				open = open[:n-1]
			} else if n > 0 {
				return open[n-1:] // the one that another kind of bracket closes
			}
		}
	}
	return open
}

// directive reports a line that begins with a percent sign, which YAML means for its parsers.
func (r *Reader) directive(tokens token.Tokens) bool {
	for _, t := range tokens {
		if t.Type == token.DirectiveType {
			p := r.token(t)
			r.reportAt(p.Line, p.Column, "", "a line that begins with % has no meaning here", "leave it out, and the line --- after it")
			return true
		}
	}
	return false
}
