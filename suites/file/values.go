package file

import "hilrig/rig/signal"

// written tells whether the key stands in the file, right or wrong.
func (v *values) written(name string) bool {
	return v != nil && (v.of[name] != nil || v.node.key(name) != nil)
}

// get returns what was read at a key, nil where it is left out or wrong.
func (v *values) get(name string) *value {
	if v == nil {
		return nil
	}
	if x := v.of[name]; x != nil && !x.bad {
		return x
	}
	return nil
}

// has tells whether the key stands in the file and was read.
func (v *values) has(name string) bool { return v.get(name) != nil }

// number returns the SI number at a key, 0 without one.
func (v *values) number(name string) float64 {
	if x := v.get(name); x != nil {
		return x.number
	}
	return 0
}

// time returns the span at a key, 0 without one.
func (v *values) time(name string) signal.Time { return signal.FromSeconds(v.number(name)) }

// whole returns the whole number at a key, 0 without one.
func (v *values) whole(name string) int64 {
	if x := v.get(name); x != nil {
		return x.whole
	}
	return 0
}

// word returns the word or text at a key, "" without one.
func (v *values) word(name string) string {
	if x := v.get(name); x != nil {
		return x.word
	}
	return ""
}

// flag returns whether the key says yes.
func (v *values) flag(name string) bool {
	x := v.get(name)
	return x != nil && x.flag
}

// sub returns the table at a key, nil without one; its methods bear nil.
func (v *values) sub(name string) *values {
	if x := v.get(name); x != nil {
		return x.table
	}
	return nil
}

// list returns the values at a key, a single one as a list of one.
func (v *values) list(name string) []value {
	x := v.get(name)
	switch {
	case x == nil:
		return nil
	case x.list != nil:
		return x.list
	}
	return []value{*x}
}

// optional returns a pointer to the SI number at a key, nil without one.
func (v *values) optional(name string) *float64 {
	if x := v.get(name); x != nil {
		n := x.number
		return &n
	}
	return nil
}

// optionalTime returns a pointer to the span at a key, nil without one.
func (v *values) optionalTime(name string) *signal.Time {
	if v.has(name) {
		t := v.time(name)
		return &t
	}
	return nil
}
