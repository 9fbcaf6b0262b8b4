package language

import (
	"fmt"
	"strings"
	"unicode/utf8"

	"github.com/goccy/go-yaml/ast"
	"github.com/goccy/go-yaml/token"
)

// dashes are the characters that look like a minus sign and are none to a program; text
// programs and web pages put them in its place.
const dashes = "\u2010\u2011\u2012\u2013\u2014\u2015\u2212\ufe58\ufe63\uff0d"

// WithMinus returns a text that begins with a dash that looks like a minus sign with a minus
// sign in its place; ok is false where it begins otherwise.
func WithMinus(text string) (with string, ok bool) {
	c, size := utf8.DecodeRuneInString(text)
	if size == 0 || !strings.ContainsRune(dashes, c) {
		return "", false
	}
	return "-" + strings.TrimSpace(text[size:]), true
}

// splitByComma reports a number that the comma in it has made two values of, where a and b are such.
func (r *Reader) splitByComma(a, b *Node, k *Key) bool {
	number, rest := SplitNumber(a.Text)
	if a.kind != scalarNode || b.kind != scalarNode || k.Kind != Measure || number == "" || rest != "" ||
		b.Line != a.Line || b.Column != a.Column+len(a.Text)+1 || !strings.ContainsAny(b.Text[:min(len(b.Text), 1)], "0123456789") {
		return false
	}
	text := a.Text + "," + b.Text
	r.reportAt(a.Line, a.Column, text, fmt.Sprintf("%s: %q has a comma", k.Name, Brief(text)), "write decimals with a point")
	return true
}

// commaIn reports the first number of a list that a comma has made two values of.
func (r *Reader) commaIn(n *Node, k *Key) bool {
	if k.Quantity == Factor || k.Quantity == Symbols {
		return false // numbers without units may stand side by side
	}
	for i := 1; i < len(n.items); i++ {
		if r.splitByComma(n.items[i-1], n.items[i], k) {
			return true
		}
	}
	return false
}

// blankAfter reports a plain key whose colon touches its value, as in {policy:cap}: for YAML that is one word, and what else reads the
// file takes it for a key without a value.
func (r *Reader) blankAfter(v *ast.MappingValueNode, key *Node) {
	if v.Start == nil || v.Value == nil || v.Value.GetToken() == nil {
		return
	}
	switch v.Key.GetToken().Type {
	case token.SingleQuoteType, token.DoubleQuoteType:
		return
	}
	colon, next := r.token(v.Start), v.Value.GetToken()
	switch next.Type {
	case token.MappingStartType, token.SequenceStartType, token.NullType, token.ImplicitNullType:
		return
	}
	if at := r.token(next); at.Line == colon.Line && at.Column == colon.Column+1 {
		text := key.Text + ":" + strings.TrimSpace(next.Value)
		says := fmt.Sprintf("%q lacks a blank behind its colon", Brief(text))
		if r.tabBehind(colon) {
			says = fmt.Sprintf("%s has a tab behind its colon", key.Text)
		}
		r.reportAt(key.Line, key.Column, text, says, "write "+key.Text+": "+Brief(strings.TrimSpace(next.Value)))
	}
}

// tabBehind says whether a tab, which is shown as a blank, stands behind the sign at a place.
func (r *Reader) tabBehind(at Place) bool {
	lines := strings.Split(string(r.Source.Data), "\n")
	if at.Line > len(lines) {
		return false
	}
	line := []rune(strings.TrimPrefix(lines[at.Line-1], "\ufeff"))
	return at.Column < len(line) && line[at.Column] == '\t'
}
