package suites

import "hilrig/suites/record"

// What a record takes at most, in bytes: measured on the standard suites, twice as much.
const (
	roomOfRun    = 256 << 10 // whatever is played
	roomOfCase   = 24 << 10  // verdicts, in the lines of cases and in the result
	roomOfSecond = 1 << 10   // commands along a case, for each second driven
	roomOfWires  = 512 << 10 // wires of a case around moments, on a bench in real time
)

// RecordRoom returns how many bytes the record of a run with these options takes at most, about.
func (s *Setup) RecordRoom(o Options) int64 {
	bytes := int64(roomOfRun)
	for _, suite := range s.Suites {
		for _, length := range s.lengths(suite, o) {
			if length == 0 {
				continue
			}
			bytes += roomOfCase + int64(length.Seconds()*roomOfSecond)
			if s.real != nil {
				bytes += roomOfWires + record.RoomOfMoments
			}
		}
	}
	for _, in := range s.Inputs() {
		bytes += int64(len(in.Data))
	}
	return bytes
}
