package schematest

import (
	"fmt"
	"reflect"
	"strings"
)

// Unsaid lists the keys of a value's type, and of all types in it, whose fields have no comment.
func Unsaid(value any, comments Comments) (keys []string) {
	each(reflect.TypeOf(value), func(t reflect.Type) {
		for _, f := range fields(t) {
			if comments.of(f.in, f.field) == "" {
				keys = append(keys, nameOf(f.in)+"."+f.field.Name)
			}
		}
	})
	return keys
}

// Tables writes for a value's type, and for each type in it, a table of its keys in Markdown under a heading.
func Tables(value any, heading string, comments Comments) string {
	var b strings.Builder
	each(reflect.TypeOf(value), func(t reflect.Type) {
		fmt.Fprintf(&b, "%s `%s`\n\n", heading, strings.ToLower(t.Name()))
		if text := comments.ofType(t); text != "" {
			fmt.Fprintf(&b, "%s\n\n", text)
		}
		b.WriteString("| key | holds | always | meaning |\n|---|---|---|---|\n")
		for _, f := range fields(t) {
			always := "yes"
			if f.omitted {
				always = ""
			}
			fmt.Fprintf(&b, "| `%s` | %s | %s | %s |\n", f.key, holds(f.field.Type), always, strings.ReplaceAll(comments.of(f.in, f.field), "|", "\\|"))
		}
		b.WriteByte('\n')
	})
	return b.String()
}

// holds says in words what stands at a key.
func holds(t reflect.Type) string {
	switch t.Kind() {
	case reflect.Bool:
		return "true or false"
	case reflect.String:
		return "text"
	case reflect.Float32, reflect.Float64:
		return "number"
	case reflect.Pointer:
		return holds(t.Elem())
	case reflect.Slice:
		return "list: " + holds(t.Elem())
	case reflect.Array:
		return fmt.Sprintf("list of %d: %s", t.Len(), holds(t.Elem()))
	case reflect.Map:
		return "table: " + holds(t.Elem())
	case reflect.Struct:
		return "`" + strings.ToLower(t.Name()) + "`"
	}
	return "whole number"
}

// each calls do with a struct and with each that its fields hold, once.
func each(t reflect.Type, do func(reflect.Type)) {
	seen := map[reflect.Type]bool{}
	var visit func(t reflect.Type)
	visit = func(t reflect.Type) {
		switch t.Kind() {
		case reflect.Pointer, reflect.Slice, reflect.Array, reflect.Map:
			visit(t.Elem())
		case reflect.Struct:
			if seen[t] {
				return
			}
			seen[t] = true
			do(t)
			for _, f := range fields(t) {
				visit(f.field.Type)
			}
		}
	}
	visit(t)
}
