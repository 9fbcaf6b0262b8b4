// Package guard is the small process that stands between a program that plays and
// the motors.
//
// A Go process dies at once on a panic, mapped outputs keep their last level, and a
// motor at idle needs somebody who goes on sending pulses. So whoever plays is a
// process of its own, the worker, and its parent, the guard, holds relay, heartbeat
// and the safe levels: [Run] starts the program once more as the worker and does
// what [rig.Interlock] decides. In the worker, [Join] takes up with the guard, and
// [Worker.Bench] wraps a bench so that playing on it feeds the guard and closing it
// opens the relay first.
//
// Two pipes join them. The worker's carries a word whenever it kept time, and what it
// saw: a silent board, a command beyond the limit. The guard's carries what was
// granted and why it tripped; that it ends without a word means that the guard is
// dead, and then the worker itself opens the relay, makes its lines safe and ends.
//
// What happens on each way out:
//
//	Ctrl-C, SIGTERM, SIGHUP   idle for 200 ms at most, relay opens, the worker ends with its record
//	stop contact, limit, …    relay opens, the worker ends with its record
//	silence over 12 ms        the heartbeat pauses until the next word
//	silence over 20 ms        relay opens, the worker is killed, lines to their safe levels
//	worker dies               relay opens, heartbeat stops, lines to their safe levels
//	guard is killed           heartbeat stops; the worker opens the relay, makes its lines safe, ends
//
// The system tells of a worker's death once it has given back its memory, which takes
// tens of milliseconds where all of it was locked in RAM; its silence is then noticed
// before. A panic goes on playing for some milliseconds while it stops the program.
//
// It is no safety device: both processes are programs on a computer that can hang as a
// whole. What then still opens is the dead-man relay that the heartbeat keeps closed,
// and what a person pulls by hand.
//
// # Units and signs
//
// Lines are GPIO numbers, 0: not wired. A high relay line closes the relay; the stop
// input is high while its contact is closed.
//
// # Time
//
// signal.Time of the system's monotonic clock, which both processes read.
package guard
