package main

import (
	"context"
	"fmt"
	"os"

	"hilrig/rig/raspberry/supervisor"
	"hilrig/suites/live"
	"hilrig/suites/record"
)

// workerKey is the key under which a context has the worker that this process is.
type workerKey struct{}

// workerOf returns this process's end of the supervisor that started it, nil where none did.
func workerOf(ctx context.Context) *supervisor.Worker {
	w, _ := ctx.Value(workerKey{}).(*supervisor.Worker)
	return w
}

// underSupervisor does the work of a command. In a process that a supervisor started it takes up
// with the supervisor before, and takes its leave afterwards.
func underSupervisor(ctx context.Context, work func(ctx context.Context) int) int {
	if !supervisor.Inside() {
		return work(ctx)
	}
	w, err := supervisor.Join(ctx)
	if err != nil {
		fmt.Fprintln(os.Stderr, "hilrig:", err)
		return exitWrong
	}
	code := exitWrong
	if inputs, err := live.InheritInputs(); err == nil {
		code = work(withInputs(context.WithValue(w.Context(), workerKey{}, w), inputs))
	} else {
		fmt.Fprintln(os.Stderr, "hilrig:", err)
	}
	if w.Why() != "" {
		code = exitTripped
	}
	w.Exiting()
	return code
}

// tripOf says why the interlock had the run end, empty where it had not.
func tripOf(ctx context.Context) string {
	w := workerOf(ctx)
	if w == nil || w.Why() == "" {
		return ""
	}
	return "the interlock tripped: " + w.Why()
}

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
	return live.NewInputs(record.ReadRegular)
}
