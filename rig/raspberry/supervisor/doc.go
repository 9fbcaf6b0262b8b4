// Package supervisor is the small process that stands between a program that plays and
// the motors.
//
// A Go process dies at once on a panic, mapped outputs keep their last level, and a
// motor at idle needs somebody who goes on sending pulses. So whoever plays is a
// process of its own, the worker, and its parent, the supervisor, holds relay, heartbeat
// and the safe levels: [Run] starts the program once more as the worker and does
// what [interlock.Interlock] decides. In the worker, [Join] takes up with the supervisor, and
// [Worker.Bench] wraps a bench so that playing on it feeds the supervisor and closing it
// opens the relay first.
//
// Two pipes join them. The worker's carries a message whenever it kept time, and what it
// saw: a silent board, a command beyond the limit. The supervisor's carries what was
// granted, why it tripped, and every 4 ms that it is at work; that it ends without a message
// means that the supervisor is dead. Without a message for 50 ms the worker trips by itself, as it
// does where it stood still for as long, and opens the relay by hand. Through the character
// device a supervisor that stands still holds the relay's line: it is killed then, and the line
// tried again until it is had.
//
// What happens on each way out:
//
//	Ctrl-C, Ctrl-Z, SIGTERM, SIGHUP   idle for 200 ms at most, relay opens, the worker ends with its record; a second one opens the relay at once
//	stop contact, limit, …            relay opens, the worker ends with its record
//	silence over 12 ms                the heartbeat pauses until the next message
//	silence over 20 ms                relay opens, the worker is killed, lines to their safe levels
//	worker dies                       relay opens, heartbeat stops, lines to their safe levels
//	worker is stopped                 as silence; nothing goes on when it continues
//	supervisor is killed                   heartbeat stops; the worker opens the relay, makes its lines safe, ends
//	supervisor is stopped                  heartbeat stops; after 50 ms the worker opens the relay, makes its lines safe, ends; the supervisor trips as soon as it continues
//	supervisor stands still over 20 ms     above signals_only the relay opens before another beat, for good; at signals_only it is reported in the [Ending]
//	both are stopped or killed,       heartbeat stops, and that is all: relay line and levels stay as they are, and only
//	or the worker is killed within    the external monostable drops the supply. Both trip when they continue, before
//	50 ms of its supervisor's stop         another beat. Where they do not, the next start makes all safe before anything else, and records what it found
//
// Before any motor has its supply, hilrig ready tries lines, board, stop contact and relay the
// same way ([Settings] Untested, [Worker.Try]): motors are not connected, relay and heartbeat
// are moved by the supervisor alone, as the worker asks and for as long as it goes on saying that
// whoever tries them is alive. Whatever trips then, Ctrl-C and a closed terminal too, opens the
// relay at once and stops the heartbeat for good. With both low a person may take any time, and
// the stop contact may be open.
//
// Nothing goes on by itself after any of these: it takes a new start of the program.
//
// All that is decided is decided in steps of a millisecond, by a core that has neither
// processes nor pipes nor a clock of its own: [Pair] has both sides in one process, on a clock that a
// test brings forward, with stalls and deaths where it wants them.
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
package supervisor
