//go:build !full

package main

// inFull says whether scripts play again what other tests play too.
const inFull = false
