// Package language is what the kinds of files that an owner writes are made of. It
// knows nothing of what the files are about: that, the package file knows.
//
// A kind of file is declared by a [Table], a list of what a [Key] may hold. A [Reader] turns
// the YAML of a [Source] into a tree, each [Node] with its place, and holds the tree against
// the table. What comes out is a [Mapping], from each key to its [Value]: a word, a
// whole number, a number in SI units, a list or a further mapping. Whoever puts a car or a
// suite together reads the mapping by the names of its keys; to ask for a key that the
// table lacks is a programmer's mistake.
//
// What is wrong with a file is a [Problem] with its place, the value, what is wrong and the
// remedy. A reader collects all [Problems] of a file. A word that is not known is answered
// with the nearest that is.
//
// [Schema] turns a table into a JSON Schema for editors.
//
// # Units and signs
//
// Every number of a file has its unit written out; a [Quantity] says which units there are.
// Numbers that come out are SI.
//
// # Sources
//
// YAML 1.2.2; JSON Schema, draft 2020-12. Units: SI Brochure, 9th edition.
//
// A reader is for one goroutine; tables may be read by any number of them.
package language
