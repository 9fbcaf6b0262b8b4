package supervisor

import (
	"errors"

	"hilrig/rig"
	"hilrig/rig/signal"
)

// Bench wraps a bench so that it is played on under the guard's eyes: it goes live
// with the first edge, byte or wait, each Wait feeds the guard, and Close opens the
// relay before the lines are made safe. What the guard refuses is the error of the
// call that asked. Watch may be nil.
func (w *Worker) Bench(b rig.Bench, watch *Watch) rig.Bench {
	w.opened()
	return &guarded{Bench: b, worker: w, watch: watch}
}

// guarded is a bench under the guard's eyes. What it does not say itself the bench does.
type guarded struct {
	rig.Bench
	worker        *Worker
	watch         *Watch
	live, playing bool
	closed        bool
	dropped       bool // what was handed over, after a trip
}

// goLive asks the guard, once.
func (g *guarded) goLive() error {
	if g.live {
		return nil
	}
	if err := g.worker.Live(); err != nil {
		return err
	}
	g.live = true
	return nil
}

// play goes live and says that something is played.
func (g *guarded) play() error {
	if g.playing {
		return nil
	}
	if err := g.goLive(); err != nil {
		return err
	}
	g.playing = true
	g.worker.tell(wordBegin)
	return nil
}

// over is the error of playing on after a trip, nil before: the worker looks after itself
// first, as it may have been stopped since. Once the relay was seen to it drops what was
// handed over, and the lines are safe.
func (g *guarded) over() error {
	g.worker.pass()
	err := g.worker.tripped()
	if err != nil && !g.dropped && !g.worker.busy() {
		g.dropped = true
		err = errors.Join(err, g.Bench.Safe())
	}
	return err
}

// Drive hands edges over. An edge that the bench cannot take any more is lost
// timing.
func (g *guarded) Drive(edges []signal.Edge, until signal.Time) error {
	if err := g.over(); err != nil {
		return err
	}
	if len(edges) > 0 {
		if err := g.play(); err != nil {
			return err
		}
	}
	err := g.Bench.Drive(edges, until)
	g.lost(err)
	return err
}

// Send puts bytes on a port.
func (g *guarded) Send(port signal.Port, at signal.Time, data []byte) (signal.Time, error) {
	if err := g.over(); err != nil {
		return 0, err
	}
	if err := g.play(); err != nil {
		return 0, err
	}
	end, err := g.Bench.Send(port, at, data)
	g.lost(err)
	return end, err
}

// Wait waits and feeds the guard. After a trip it fails, at once or when its time has
// come, and nothing that was handed over is played any more.
func (g *guarded) Wait(t signal.Time) error {
	if err := g.goLive(); err != nil {
		return err
	}
	if err := g.over(); err != nil {
		return err
	}
	if err := g.Bench.Wait(t); err != nil {
		return err
	}
	if err := g.over(); err != nil {
		return err
	}
	g.worker.Feed()
	return nil
}

// Captured takes the edges and has the watch look at them.
func (g *guarded) Captured(dst []signal.Edge) ([]signal.Edge, error) {
	old := len(dst)
	dst, err := g.Bench.Captured(dst)
	g.lost(err)
	if g.watch != nil {
		silent, limit := g.watch.look(dst[old:], g.Bench.Now())
		if limit {
			g.worker.tell(wordLimit)
		}
		if silent {
			g.worker.tell(wordSilent)
		}
	}
	return dst, err
}

func (g *guarded) lost(err error) {
	if err != nil && g.live {
		g.worker.tell(wordLost)
	}
}

// Restart power-cycles the board, which is silent meanwhile.
func (g *guarded) Restart() error {
	err := g.Bench.Restart()
	if g.watch != nil {
		g.watch.reset(g.Bench.Now())
	}
	g.worker.Feed()
	return err
}

// Close opens the relay, then closes the bench.
func (g *guarded) Close() error {
	if g.closed {
		return nil
	}
	g.closed = true
	if g.live {
		g.worker.Leave()
	}
	err := g.Bench.Close()
	g.worker.finished()
	return err
}
