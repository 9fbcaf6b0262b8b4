// Package realtime holds what a program that keeps real time takes from its machine.
//
// The [Clock]: [System] is the machine's own, and [Manual] is one whose time passes only
// while somebody sleeps on it, so that everything that plays, samples, supervises and trips can
// be tried without a wall clock, with stalls where a test wants them and the same result on
// every machine. [Pause] lets time pass for the calling thread alone.
//
// [Scheduling] is a processor, a priority and locked memory, which [Scheduling.Take] asks of the
// system; [EnterRealTime] starts a program anew with an environment ([WorkerEnv]) in which Go
// neither interrupts its loop nor collects garbage.
//
// A [Histogram] counts spans of time: gaps between two looks at the lines, how late
// edges were. A [Ring] hands values from one goroutine to another without locks.
//
// # Units and signs
//
// Times are signal.Time, nanoseconds.
package realtime
