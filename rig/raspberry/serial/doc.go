// Package serial sends on serial devices of the operating system, each message when its
// time has come.
//
// [Open] opens a device in the form that a port declares and keeps other programs from it;
// its error says what to do. [Port.Send] hands data over and returns at once. [Port.Safe]
// drops what has not been sent.
//
// # Time
//
// signal.Time of the bench that the port belongs to. On the wire a message begins later than
// planned, by what the system takes to wake the port's goroutine and by what the driver needs.
package serial
