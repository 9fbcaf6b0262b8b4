package language

import "hilrig/rig/signal"

// Written tells whether the key stands in the file, right or wrong.
func (v *Mapping) Written(name string) bool {
	return v != nil && (v.Values[name] != nil || v.Node.Key(name) != nil)
}

// Get returns what was read at a key, nil where it is left out or wrong.
func (v *Mapping) Get(name string) *Value {
	if v == nil {
		return nil
	}
	if x := v.Values[name]; x != nil && !x.Bad {
		return x
	}
	return nil
}

// NodeAt returns what stands at a key, nil where it is left out or wrong.
func (v *Mapping) NodeAt(name string) *Node {
	if x := v.Get(name); x != nil {
		return x.Node
	}
	return nil
}

// Has tells whether the key stands in the file and was read.
func (v *Mapping) Has(name string) bool { return v.Get(name) != nil }

// Number returns the SI number at a key, 0 without one.
func (v *Mapping) Number(name string) float64 {
	if x := v.Get(name); x != nil {
		return x.Number
	}
	return 0
}

// Time returns the span at a key, 0 without one.
func (v *Mapping) Time(name string) signal.Time { return signal.FromSeconds(v.Number(name)) }

// Whole returns the whole number at a key, 0 without one.
func (v *Mapping) Whole(name string) int64 {
	if x := v.Get(name); x != nil {
		return x.Whole
	}
	return 0
}

// Word returns the word or text at a key, "" without one.
func (v *Mapping) Word(name string) string {
	if x := v.Get(name); x != nil {
		return x.Word
	}
	return ""
}

// Flag returns whether the key says yes.
func (v *Mapping) Flag(name string) bool {
	x := v.Get(name)
	return x != nil && x.Flag
}

// Sub returns the table at a key, nil without one; its methods bear nil.
func (v *Mapping) Sub(name string) *Mapping {
	if x := v.Get(name); x != nil {
		return x.Mapping
	}
	return nil
}

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
	if x := v.Get(name); x != nil {
		n := x.Number
		return &n
	}
	return nil
}

// OptionalTime returns a pointer to the span at a key, nil without one.
func (v *Mapping) OptionalTime(name string) *signal.Time {
	if v.Has(name) {
		t := v.Time(name)
		return &t
	}
	return nil
}
