package record

import (
	"reflect"
	"strings"
	"unicode"
)

// plain takes out of every text of a record with something wrong what could move the
// cursor of a terminal or begin a line of its own: a text of such a record may have been
// made to hide what is said of it. The lines of an excerpt stay.
func (r *Record) plain() {
	plain(reflect.ValueOf(r.Result).Elem(), false)
	plain(reflect.ValueOf(&r.Host).Elem(), false)
}

// plain takes control characters out of all texts in v; lines keeps ends of lines.
func plain(v reflect.Value, lines bool) {
	switch v.Kind() {
	case reflect.String:
		v.SetString(strings.Map(func(c rune) rune {
			if unicode.IsControl(c) && !(lines && c == '\n') {
				return ' '
			}
			return c
		}, v.String()))
	case reflect.Slice:
		for i := range v.Len() {
			plain(v.Index(i), lines)
		}
	case reflect.Pointer:
		if !v.IsNil() {
			plain(v.Elem(), lines)
		}
	case reflect.Struct:
		for i := range v.NumField() {
			plain(v.Field(i), v.Type().Field(i).Name == "Excerpt")
		}
	}
}
