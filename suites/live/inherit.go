package live

import (
	"fmt"
	"os"

	"hilrig/rig/raspberry/claim"
	"hilrig/rig/raspberry/supervisor"
)

// InheritedInputs is the place of the run's files among what a worker inherits from its
// supervisor. The claim on the lines, which lasts as long as the last of the two, is behind it.
const InheritedInputs = 0

// HandDown has a worker inherit the files of a run as they were read, and the claim on its
// lines, where it has one. End is called when the supervisor's work is over.
func HandDown(s *supervisor.Settings, inputs *Inputs, lines *claim.Claim) (end func(), err error) {
	out, in, err := os.Pipe()
	if err != nil {
		return nil, fmt.Errorf("the files of the run are not handed over: %w", err)
	}
	go func() {
		defer in.Close()
		_ = inputs.Give(in) // a worker that does not get all of it plays nothing
	}()
	s.Extra = []*os.File{InheritedInputs: out}
	if lines != nil {
		s.Extra = append(s.Extra, lines.File())
	}
	return func() { out.Close() }, nil
}

// InheritInputs returns the files of the run as this process's supervisor read them.
func InheritInputs() (*Inputs, error) {
	from := supervisor.Inherited(InheritedInputs)
	defer from.Close()
	return ReadInputs(from)
}
