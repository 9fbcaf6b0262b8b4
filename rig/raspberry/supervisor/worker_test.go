package supervisor

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"hilrig/rig"
	"hilrig/rig/raspberry/realtime"
	"hilrig/rig/signal"
)

// granting is a supervisor that grants all that is asked, and otherwise says only what a test has
// it say.
type granting struct {
	commands []byte
	messages []messageKind
}

func (g *granting) say(message []byte) {
	kind := messageKind(message[8])
	g.messages = append(g.messages, kind)
	switch kind {
	case messageLive:
		g.commands = append(g.commands, commandGranted.put("")...)
	case messageLeave:
		g.commands = append(g.commands, commandOpen.put("")...)
	}
}

func (g *granting) hear(dst []byte) (int, bool) {
	n := copy(dst, g.commands)
	g.commands = g.commands[n:]
	return n, false
}

func (g *granting) kill()       {}
func (g *granting) exit(int)    {}
func (g *granting) note(string) {}

// A worker may be stopped anywhere between two calls: whichever comes first afterwards hands
// nothing over and plays nothing, whether or not somebody else has noticed before.
func TestAWorkerThatWasStoppedHandsNothingOver(t *testing.T) {
	for _, test := range []struct {
		name string
		call func(b rig.Bench, now signal.Time) error
	}{
		{"Drive", func(b rig.Bench, now signal.Time) error { return b.Drive([]signal.Edge{{At: now}}, now+ms) }},
		{"Drive without an edge", func(b rig.Bench, now signal.Time) error { return b.Drive(nil, now+ms) }},
		{"Send", func(b rig.Bench, now signal.Time) error {
			_, err := b.Send(0, now, []byte{1})
			return err
		}},
		{"Wait", func(b rig.Bench, now signal.Time) error { return b.Wait(now + ms) }},
	} {
		t.Run(test.name, func(t *testing.T) {
			clock := &realtime.Manual{}
			log, link := NewLineLog(clock), &granting{}
			w := newWorker(t.Context(), clock, link)
			inner := &playedBench{clock: clock, log: log}
			bench := w.Bench(inner, nil)
			require.NoError(t, bench.Drive([]signal.Edge{{}}, ms))
			require.NoError(t, bench.Wait(ms))
			drove, waits := len(inner.drove), len(inner.waits)
			clock.SleepUntil(clock.Now() + MostUnsupervised + ms)
			link.commands = append(link.commands, commandAlive.put("")...) // from before, for all that it knows
			require.EqualError(t, test.call(bench, clock.Now()), "the interlock tripped: the worker stood still for 51 ms")
			assert.Len(t, inner.drove, drove)
			assert.Len(t, inner.waits, waits)
			assert.False(t, log.High(driven), "what was handed over is dropped")
			assert.Contains(t, link.messages, messageLost)
			assert.Error(t, w.Context().Err())
		})
	}
}

// Between two suites, with nothing live, a worker may stand still: it opens a bench meanwhile.
func TestAWorkerThatIsNotLiveMayStandStill(t *testing.T) {
	clock := &realtime.Manual{}
	link := &granting{}
	w := newWorker(t.Context(), clock, link)
	for range 2 {
		clock.SleepUntil(clock.Now() + 10*MostUnsupervised)
		link.commands = append(link.commands, commandAlive.put("")...)
		bench := w.Bench(&playedBench{clock: clock, log: NewLineLog(clock)}, nil)
		require.NoError(t, bench.Wait(clock.Now()+ms))
		require.NoError(t, bench.Close())
	}
	assert.Empty(t, w.Why())
}
