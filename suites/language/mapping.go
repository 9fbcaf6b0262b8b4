package language

import (
	"fmt"
	"slices"

	"hilrig/rig/signal"
)

// Written tells whether the key stands in the file, right or wrong, its own name misspelt too.
func (v *Mapping) Written(name string) bool {
	if v == nil {
		return false
	}
	v.mustKnow(name)
	return v.Values[name] != nil || v.Node.Key(name) != nil || v.meant[name]
}

// MayHave tells whether the mapping's table has the key, or another form that could have
// stood in its place; false for nil. It is for code that looks for a value in tables of
// several kinds.
func (v *Mapping) MayHave(name string) bool {
	return v != nil && (v.Table.Key(name) != nil ||
		slices.ContainsFunc(v.forms, func(f Form) bool { return f.Table.Key(name) != nil }))
}

// mustKnow panics where no table by which the mapping may have been read has the key:
// its name is misspelt in the code, which would take it for left out for ever.
func (v *Mapping) mustKnow(name string) {
	if !v.MayHave(name) {
		panic(fmt.Sprintf("language: the code asks %s for key %q, which its table lacks; the table has %s", v.Table.Name, name, Or(v.Table.Names())))
	}
}

// Get returns what was read at a key, nil where it is left out or wrong.
func (v *Mapping) Get(name string) *Value {
	if v == nil {
		return nil
	}
	v.mustKnow(name)
	if x := v.Values[name]; x != nil && !x.Bad {
		return x
	}
	return nil
}

// read returns what was read at a key, the zero value where it is left out or wrong.
func (v *Mapping) read(name string) Value {
	if x := v.Get(name); x != nil {
		return *x
	}
	return Value{}
}

// Has tells whether the key stands in the file and was read.
func (v *Mapping) Has(name string) bool { return v.Get(name) != nil }

// NodeAt returns what stands at a key, nil without one.
func (v *Mapping) NodeAt(name string) *Node { return v.read(name).Node }

// Number returns the SI number at a key, 0 without one.
func (v *Mapping) Number(name string) float64 { return v.read(name).Number }

// Time returns the span at a key, 0 without one.
func (v *Mapping) Time(name string) signal.Time { return signal.FromSeconds(v.Number(name)) }

// Whole returns the whole number at a key, 0 without one.
func (v *Mapping) Whole(name string) int64 { return v.read(name).Whole }

// Word returns the word or text at a key, "" without one.
func (v *Mapping) Word(name string) string { return v.read(name).Word }

// Flag returns whether the key says yes.
func (v *Mapping) Flag(name string) bool { return v.read(name).Flag }

// NumberOr returns the SI number at a key, or else otherwise.
func (v *Mapping) NumberOr(name string, otherwise float64) float64 {
	return orElse(v, name, v.Number(name), otherwise)
}

// TimeOr returns the span at a key, or else otherwise.
func (v *Mapping) TimeOr(name string, otherwise signal.Time) signal.Time {
	return orElse(v, name, v.Time(name), otherwise)
}

// WholeOr returns the whole number at a key, or else otherwise.
func (v *Mapping) WholeOr(name string, otherwise int64) int64 {
	return orElse(v, name, v.Whole(name), otherwise)
}

// WordOr returns the word or text at a key, or else otherwise.
func (v *Mapping) WordOr(name, otherwise string) string {
	return orElse(v, name, v.Word(name), otherwise)
}

// orElse returns x, which was read at a key, or else otherwise.
func orElse[T any](v *Mapping, name string, x, otherwise T) T {
	if v.Has(name) {
		return x
	}
	return otherwise
}

// Sub returns the table at a key, nil without one, whose methods find nothing.
func (v *Mapping) Sub(name string) *Mapping { return v.read(name).Mapping }

// List returns the values at a key, a single one as a list of one.
func (v *Mapping) List(name string) []Value {
	x := v.Get(name)
	switch {
	case x == nil:
		return nil
	case x.List != nil:
		return x.List
	}
	return []Value{*x}
}

// Optional returns a pointer to the SI number at a key, nil without one.
func (v *Mapping) Optional(name string) *float64 {
	if !v.Has(name) {
		return nil
	}
	return new(v.Number(name))
}

// OptionalTime returns a pointer to the span at a key, nil without one.
func (v *Mapping) OptionalTime(name string) *signal.Time {
	if !v.Has(name) {
		return nil
	}
	return new(v.Time(name))
}
