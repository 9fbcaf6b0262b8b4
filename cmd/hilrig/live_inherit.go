package main

import (
	"context"
	"fmt"
	"os"

	"hilrig/rig/raspberry"
	"hilrig/rig/raspberry/claim"
	"hilrig/rig/raspberry/pinout"
	"hilrig/rig/raspberry/supervisor"
	"hilrig/suites/live"
)

// inheritedInputs is the place of the run's files among what a player inherits from its
// guard. The claim on the lines, which lasts as long as the last of the two, is behind it.
const inheritedInputs = 0

// handDown has a player inherit the files of a run as they were read, and the claim on its
// lines; nil: it has none. End is called when the guard's work is over.
func handDown(s *supervisor.Settings, inputs *live.Inputs, lines *claim.Claim) (end func(), err error) {
	out, in, err := os.Pipe()
	if err != nil {
		return nil, fmt.Errorf("the files of the run are not handed over: %w", err)
	}
	go func() {
		defer in.Close()
		_ = inputs.Give(in) // a player that does not get all of it plays nothing
	}()
	s.Extra = []*os.File{inheritedInputs: out}
	if lines != nil {
		s.Extra = append(s.Extra, lines.File())
	}
	return func() { out.Close() }, nil
}

// takeInputs returns the files of the run as this process's guard read them.
func takeInputs() (*live.Inputs, error) {
	from := supervisor.Inherited(inheritedInputs)
	defer from.Close()
	return live.Taken(from)
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
	return live.NewInputs(os.ReadFile)
}

// claimHere claims lines for a command, by way of what claims them. A player under a guard
// has its guard's claim already, and gets nil.
func claimHere(ctx context.Context, of func() (*claim.Claim, error)) (*claim.Claim, error) {
	if workerOf(ctx) != nil {
		return nil, nil
	}
	c, err := of()
	if err != nil {
		return nil, lacking{err}
	}
	return c, nil
}

// claimPins claims this machine's pins for a command, where hilrig can drive any: else it is
// told what the machine lacks. Without a claim to hold it returns nil.
func claimPins(ctx context.Context) (*claim.Claim, error) {
	if thisPi().Limits().Way == pinout.NoWay {
		return nil, nil
	}
	return claimHere(ctx, claim.Pins)
}

// claimFile claims the bank in the file at path for a command.
func claimFile(ctx context.Context, path string) (*claim.Claim, error) {
	if err := raspberry.MakeBank(path); err != nil {
		return nil, err
	}
	return claimHere(ctx, func() (*claim.Claim, error) { return claim.Bank(path) })
}

// letGo releases a claim; nil: there is none.
func letGo(lines *claim.Claim) {
	if lines != nil {
		_ = lines.Release() // it ends with the program at the latest
	}
}
