package supervisor

import (
	"errors"

	"hilrig/rig"
	"hilrig/rig/signal"
)

// Bench wraps a bench so that it is played on under the supervisor's eyes: it goes live
// with the first edge, byte or wait, each Wait feeds the supervisor, and Close opens the
// relay before the lines are made safe. What the supervisor refuses is the error of the
// call that asked. Watch may be nil.
func (w *Worker) Bench(b rig.Bench, watch *Watch) rig.Bench {
	w.opened()
	return &supervised{Bench: b, worker: w, watch: watch}
}

// Stand is [Worker.Bench] for a stand, on which the rig itself commands a motor: the watch looks
// at each command before the bench gets it, and again as it went out. One that it refuses is the
// error of Drive, and trips. The bench's driven lines are read from then on. Watch may be nil.
func (w *Worker) Stand(b rig.Bench, watch *StandWatch) (rig.Bench, error) {
	w.opened()
	s := &supervised{Bench: b, worker: w, stand: watch}
	if watch == nil {
		return s, nil
	}
	var err error
	if s.read, err = b.ReadBack(nil); err != nil {
		err = errors.Join(err, s.Close())
		return nil, err
	}
	return s, nil
}

// supervised is a bench under the supervisor's eyes. What it does not say itself the bench does.
type supervised struct {
	rig.Bench
	worker        *Worker
	watch         *Watch
	stand         *StandWatch
	read          []signal.Edge // back from driven lines, not taken yet; where a stand is watched
	live, playing bool
	closed        bool
	dropped       bool        // what was handed over, after a trip
	turned        signal.Time // when the supervisor was last told that a motor is to turn
}

// goLive asks the supervisor, once.
func (s *supervised) goLive() error {
	if s.live {
		return nil
	}
	if err := s.worker.Live(); err != nil {
		return err
	}
	s.live = true
	return nil
}

// play goes live and says that something is played.
func (s *supervised) play() error {
	if s.playing {
		return nil
	}
	if err := s.goLive(); err != nil {
		return err
	}
	s.playing = true
	s.worker.tell(messageBegin)
	return nil
}

// over is the error of playing on after a trip, nil before: the worker looks after itself
// first, as it may have been stopped since. Once the relay was seen to it drops what was
// handed over, and the lines are safe.
func (s *supervised) over() error {
	s.worker.pass()
	err := s.worker.tripped()
	if err != nil && !s.dropped && !s.worker.busy() {
		s.dropped = true
		err = errors.Join(err, s.Bench.Safe())
	}
	return err
}

// Drive hands edges over. An edge that the bench cannot take any more is lost
// timing.
func (s *supervised) Drive(edges []signal.Edge, until signal.Time) error {
	if err := s.over(); err != nil {
		return err
	}
	if s.stand != nil {
		if err := s.stand.planned(edges, until); err != nil {
			s.worker.tell(messageLimit)
			return errors.Join(err, s.Bench.Safe()) // a pulse that has begun ends short of its width
		}
	}
	if len(edges) > 0 {
		if err := s.play(); err != nil {
			return err
		}
	}
	err := s.Bench.Drive(edges, until)
	s.lost(err)
	return err
}

// Send puts bytes on a port.
func (s *supervised) Send(port signal.Port, at signal.Time, data []byte) (signal.Time, error) {
	if err := s.over(); err != nil {
		return 0, err
	}
	if err := s.play(); err != nil {
		return 0, err
	}
	end, err := s.Bench.Send(port, at, data)
	s.lost(err)
	return end, err
}

// Wait waits and feeds the supervisor. After a trip it fails, at once or when its time has
// come, and nothing that was handed over is played any more.
func (s *supervised) Wait(t signal.Time) error {
	if err := s.goLive(); err != nil {
		return err
	}
	if err := s.over(); err != nil {
		return err
	}
	if err := s.Bench.Wait(t); err != nil {
		return err
	}
	if err := s.over(); err != nil {
		return err
	}
	s.worker.Feed()
	return nil
}

// Captured takes the edges and has the watch look at them.
func (s *supervised) Captured(dst []signal.Edge) ([]signal.Edge, error) {
	old := len(dst)
	dst, err := s.Bench.Captured(dst)
	s.lost(err)
	if s.watch != nil {
		silent, limit := s.watch.look(dst[old:], s.Bench.Now())
		if limit {
			s.worker.tell(messageLimit)
		}
		if silent {
			s.worker.tell(messageSilent)
		}
		s.turning(&s.watch.turns)
	}
	if s.stand != nil && err == nil {
		err = s.lookAtStand(dst[old:])
	}
	return dst, err
}

// lookAtStand has the watch over a stand look at what was captured and at what went out.
func (s *supervised) lookAtStand(captured []signal.Edge) (err error) {
	old := len(s.read)
	s.read, err = s.Bench.ReadBack(s.read)
	s.lost(err)
	unmeasured, limit := s.stand.look(captured, s.read[old:], s.Bench.Now())
	if limit {
		s.worker.tell(messageLimit)
	}
	if unmeasured {
		s.worker.tell(messageLost)
	}
	s.turning(&s.stand.turns)
	return err
}

// turningEvery is how often the supervisor is told that a motor is to turn.
const turningEvery = 10 * signal.Millisecond

// turning tells the supervisor that a motor is to turn, where it is.
func (s *supervised) turning(turns *bool) {
	if now := s.worker.clock.Now(); *turns && now-s.turned >= turningEvery {
		*turns, s.turned = false, now
		s.worker.tell(messageTurning)
	}
}

// ReadBack returns what was read back. What the watch over a stand has read meanwhile comes first.
func (s *supervised) ReadBack(dst []signal.Edge) ([]signal.Edge, error) {
	if s.stand == nil {
		return s.Bench.ReadBack(dst)
	}
	if err := s.lookAtStand(nil); err != nil {
		return dst, err
	}
	dst = append(dst, s.read...)
	s.read = s.read[:0]
	return dst, nil
}

func (s *supervised) lost(err error) {
	if err != nil && s.live {
		s.worker.tell(messageLost)
	}
}

// Restart power-cycles the board, which is silent meanwhile.
func (s *supervised) Restart() error {
	err := s.Bench.Restart()
	if s.watch != nil {
		s.watch.reset(s.Bench.Now())
	}
	if s.stand != nil {
		s.stand.reset(s.Bench.Now())
	}
	s.worker.Feed()
	return err
}

// Close opens the relay, then closes the bench, and waits until the motors' supply was seen to go,
// where an input sees it.
func (s *supervised) Close() error {
	if s.closed {
		return nil
	}
	s.closed = true
	if s.live {
		s.worker.Leave()
	}
	err := s.Bench.Close()
	if s.live {
		s.worker.awaitGone()
	}
	s.worker.finished()
	return err
}
