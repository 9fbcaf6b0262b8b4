package main

import (
	"context"
	"os"

	"hilrig/suites/live"
)

// inputsKey is the key under which a context has the files of a run.
type inputsKey struct{}

// withInputs returns a context with the files that a run is made of.
func withInputs(ctx context.Context, inputs *live.Inputs) context.Context {
	return context.WithValue(ctx, inputsKey{}, inputs)
}

// inputsOf returns the files of the run, those on disk where none were handed down.
func inputsOf(ctx context.Context) *live.Inputs {
	if inputs, ok := ctx.Value(inputsKey{}).(*live.Inputs); ok {
		return inputs
	}
	return live.NewInputs(os.ReadFile)
}
