// Package stimulus says what is played into the board: how each quantity goes over the
// time of a case.
//
// A [Shape] is how one value goes over time: [Hold], [Step], [Ramp]. A [Track] is a
// list of segments, each a shape that rules from its start to the next one's.
// A [Program] is a track for each quantity of a case, and its length.
// A new shape is a type with one method in a file of its own; nothing else has to know it.
//
// Tracks and programs are built first and then only read: reading keeps no
// state, allocates nothing, may go back in time and may be done from several goroutines.
//
// # Units and signs
//
// SI units, ISO 8855 axes: speed in m/s along x, yaw rate in rad/s and steer in rad
// positive to the left, throttle and gain as shares, wheels in rad/s positive
// rolling forward.
//
// # Time
//
// signal.Time, nanoseconds from the beginning of the program; a shape's time is
// counted from the beginning of its segment.
package stimulus
