package language

// Source is one file as it was read.
type Source struct {
	Path string // as the user gave it; "demo/bramble.yaml" for an embedded one
	Data []byte
	Name string // what a result calls it; empty: as its path says
}

// Place is a place in a file, counted from 1.
type Place struct {
	File   string
	Line   int
	Column int
}
