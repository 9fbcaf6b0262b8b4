// Command hilrig proves the firmware of a four-motor, torque-vectoring car on
// the bench.
//
// Each command is one file: its flags, what it wires together, and its help.
// What a command shows on the way is text on stderr; what was asked for goes
// to stdout. The files in testdata/script say what each command does.
//
// # Exit codes
//
// 0 GO, MEASURED (nothing was asked) or PART (chosen cases or one part alone), 1 NO-GO, 2 NOT SHOWN or stopped, 3 wrong use, a wrong file, or results that could not
// be written whole to standard output, 4 the interlock tripped. Of several, 4 comes before 3
// before 1 before 2. A reader of standard output that has had enough, such as head, changes
// nothing: the rest is not written, and the code is that of the whole.
//
// # Units and signs
//
// Results are shown in the unit that stands beside them; yaw rate and steer
// angle are positive to the left (ISO 8855).
//
// # Time
//
// Driving time is that of the bench, virtual on a simulated one; wall time is
// the machine's.
package main

import (
	"context"
	"os"
	"os/signal"
	"syscall"
)

func main() {
	ctx, stop := signal.NotifyContext(context.Background(), os.Interrupt, syscall.SIGTERM)
	context.AfterFunc(ctx, stop) // a second Ctrl-C ends at once
	// Whoever reads the output may stop and must not end a run by that: writes fail instead.
	signal.Notify(make(chan os.Signal, 1), syscall.SIGPIPE)
	os.Exit(underSupervisor(ctx, func(ctx context.Context) int {
		return run(ctx, os.Args[1:], os.Stdout, os.Stderr)
	}))
}
