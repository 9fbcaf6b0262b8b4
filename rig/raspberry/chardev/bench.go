//go:build linux

package chardev

import (
	"errors"
	"fmt"
	"math"

	"golang.org/x/sys/unix"

	"hilrig/rig"
	"hilrig/rig/raspberry/cdev"
	"hilrig/rig/raspberry/realtime"
	"hilrig/rig/raspberry/registers"
	"hilrig/rig/signal"
)

var errCharClosed = errors.New("bench on the character device: it is closed; open a new one")

// CharBench is a bench on lines of the kernel's GPIO character device, in real time: a
// player sets levels when they are due, and the kernel stamps the edges of captured
// lines. It is for servo pulses, and for OneShot125 with a doubt of [StampDoubt]. A port
// without a device puts its bytes out as levels of its line, which a Pi is too slow for
// at any common rate. It is used by one goroutine.
//
// The kernel counts the edges of all captured lines together, and tells by the numbers
// what it lost. Of one line that is captured alone it does not count what it could not
// keep apart.
//
// An edge that is handed over late, its time past, is no error as long as it is not
// before an earlier call's until: it is played at once and counted as late. A call of
// the kernel that fails ends playing, and is the error of every method from then on
// until Close.
type CharBench struct {
	layout  signal.Layout
	clock   func() signal.Time
	device  charDevice
	listen  *listener
	back    *listener // to the wires of ports on devices; nil: none is read back
	play    *charPlayer
	refused []string
	feed    func()
	closed  bool

	reset    charOutputs // nil: there is none
	resetFor signal.Time

	until   signal.Time // up to which edges were handed over
	waited  signal.Time // what was last waited for
	drive   *realtime.Ring[charChange]
	bit     []uint64 // of driven lines, by line
	group   []uint8
	planned []bool        // level of each line once all that was handed over is played
	before  []signal.Time // by group: its newest planned change
	ports   []charPort
	portOf  []int16 // by line; -1: no port
}

// charDevice is what hands out the lines; see [cdev.Chip]. What comes with an error is nil.
type charDevice interface {
	Outputs(lines []uint32, initial uint64) (charOutputs, error)
	// Inputs pulls the lines of up high and the others low: a wire that is off looks like
	// a board that sends nothing.
	Inputs(lines []uint32, up uint64) (charInputs, error)
	Close() error
}

// charChip is a chip of the kernel.
type charChip struct{ *cdev.Chip }

func (c charChip) Outputs(lines []uint32, initial uint64) (charOutputs, error) {
	out, err := c.Chip.Outputs(charUser, lines, initial)
	if err != nil {
		return nil, err // a nil *cdev.Outputs is no nil charOutputs
	}
	return out, nil
}

func (c charChip) Inputs(lines []uint32, up uint64) (charInputs, error) {
	in, err := c.Chip.Inputs(charUser, lines, cdev.InputSettings{Pull: cdev.PullDown, Up: up})
	if err != nil {
		return nil, err
	}
	return in, nil
}

// NewCharDevice opens a bench at time 0: driven lines become outputs at their idle
// levels, all in one call of the kernel, and captured lines are listened to. It takes
// all lines or none. A line in use is an error for which errors.Is(err, unix.EBUSY)
// holds.
func NewCharDevice(s CharSettings) (*CharBench, error) {
	if err := s.check(); err != nil {
		return nil, err
	}
	chip, err := cdev.Open(s.Path)
	if err != nil {
		return nil, err
	}
	return newCharBench(s, charChip{chip})
}

// newCharBench opens a bench on device, which it closes, where it fails too. The
// settings are checked.
func newCharBench(s CharSettings, device charDevice) (*CharBench, error) {
	zero := cdev.Now()
	b := &CharBench{
		layout: s.Layout, device: device, feed: s.Feed, resetFor: s.ResetFor,
		clock: func() signal.Time { return signal.Time(cdev.Now() - zero) },
		drive: realtime.NewRing[charChange](17),
		group: registers.Groups(s.Layout), before: make([]signal.Time, 256),
	}
	lines := b.sort(s)
	if err := b.take(s, lines, zero); err != nil {
		return nil, errors.Join(err, b.giveBack())
	}
	refused := make(chan []string, 1)
	go b.play.run(s.Scheduling, refused)
	b.refused = <-refused
	go b.listen.run()
	if b.back != nil {
		go b.back.run()
	}
	return b, nil
}

// charSorted is the lines of a layout by what they are used for: offsets on the chip.
type charSorted struct {
	driven, captured []uint32
	idle, up         uint64        // bit n: the n-th is high at rest
	heard            []signal.Line // those captured

	back     []uint32 // wires of ports on devices
	backLine []signal.Line
}

// sort sorts the lines and gives those that are driven a bit each.
func (b *CharBench) sort(s CharSettings) (out charSorted) {
	for i, l := range s.Layout.Lines {
		b.planned = append(b.planned, l.Idle)
		b.portOf = append(b.portOf, -1)
		b.bit = append(b.bit, 0)
		pin := uint32(s.Pins[i])
		if device := s.device(signal.Line(i)); device != "" {
			if pin != registers.NoPin && !OwnUART(device) {
				out.back = append(out.back, pin)
				out.backLine = append(out.backLine, signal.Line(i))
			}
			continue
		}
		if l.Direction == signal.Capture {
			out.up |= oneBit(l.Idle) << len(out.captured)
			out.captured = append(out.captured, pin)
			out.heard = append(out.heard, signal.Line(i))
			continue
		}
		b.bit[i] = 1 << len(out.driven)
		out.idle |= oneBit(l.Idle) << len(out.driven)
		out.driven = append(out.driven, pin)
	}
	return out
}

// take requests the lines and makes player and listener.
func (b *CharBench) take(s CharSettings, lines charSorted, zero int64) error {
	if len(lines.driven) == 0 || len(lines.captured) == 0 {
		return errors.New("bench on the character device: it needs lines to drive and lines to capture")
	}
	in, err := b.device.Inputs(lines.captured, lines.up)
	if err != nil {
		return err
	}
	b.listen = newListener(in, lines.heard, b.clock, zero, s.Doubt, settled)
	if len(lines.back) > 0 {
		// Apart from the others: what is lost here, as bits come fast, is no matter there.
		if in, err = b.device.Inputs(lines.back, math.MaxUint64); err != nil {
			return err
		}
		b.back = newListener(in, lines.backLine, b.clock, zero, s.Doubt, settled)
	}
	if s.Reset > 0 {
		if b.reset, err = b.device.Outputs([]uint32{uint32(s.Reset)}, 1); err != nil {
			return err
		}
	}
	out, err := b.device.Outputs(lines.driven, lines.idle)
	if err != nil {
		return err
	}
	if b.play, err = newCharPlayer(out, b.clock, s.Layout); err != nil {
		return errors.Join(err, out.Close())
	}
	b.play.queues = append(b.play.queues, b.drive)
	return b.openPorts(s)
}

// giveBack gives back what was taken. Player and listener do not run.
func (b *CharBench) giveBack() error {
	failed := []error{b.closePorts()}
	if b.play != nil {
		failed = append(failed, b.play.out.Close(), unix.Close(b.play.bell))
	}
	if b.reset != nil {
		failed = append(failed, b.reset.Close())
	}
	for _, l := range []*listener{b.listen, b.back} {
		if l != nil {
			failed = append(failed, l.in.Close())
		}
	}
	return errors.Join(append(failed, b.device.Close())...)
}

// Layout is the table of lines that the indexes in edges refer to.
func (b *CharBench) Layout() signal.Layout { return b.layout }

// Refused says what the operating system did not grant, each with the cure; empty
// where it granted all.
func (b *CharBench) Refused() []string { return b.refused }

// Now is the time up to which the edges of captured lines are told, a little before
// the present, so that those that the kernel still deals with come in order.
func (b *CharBench) Now() signal.Time {
	if b.closed {
		return b.listen.told
	}
	now, _ := b.listen.upTo() // the error is that of every method that has one
	return now
}

// failed returns why the bench cannot go on.
func (b *CharBench) failed() error {
	if b.closed {
		return errCharClosed
	}
	if err := b.play.failed(); err != nil {
		return fmt.Errorf("bench on the character device: %w", err)
	}
	return nil
}

// Wait waits until t is past and told, and all edges up to t are put out.
func (b *CharBench) Wait(t signal.Time) error {
	if err := b.failed(); err != nil {
		return err
	}
	b.waited = max(b.waited, t)
	sleep(t + settled - b.clock())
	for {
		now, err := b.listen.upTo()
		if err != nil {
			return fmt.Errorf("bench on the character device, at %v: %w", now, err)
		}
		if err := b.failed(); err != nil {
			return err
		}
		if now >= t && b.played(t) {
			break
		}
		sleep(20 * signal.Microsecond)
	}
	if b.feed != nil {
		b.feed()
	}
	return nil
}

// sleep lets all of a time pass. Go's own sleep is rounded up to a millisecond.
func sleep(t signal.Time) {
	for t > 0 {
		left := unix.NsecToTimespec(int64(t))
		if err := unix.ClockNanosleep(unix.CLOCK_MONOTONIC, 0, &left, &left); !errors.Is(err, unix.EINTR) {
			return
		}
		t = signal.Time(left.Nano())
	}
}

// played says whether all changes up to t are put out.
func (b *CharBench) played(t signal.Time) bool {
	for _, q := range b.play.queues {
		if !q.Empty() && q.Oldest().at <= t {
			return false
		}
	}
	return true
}

// Captured appends the edges of captured lines that were told since the last call. That
// edges were lost, because nobody took them for long, is an error; what the kernel
// lost is told by gaps (see signal.Edge) and counted in [CharBench.Timing].
func (b *CharBench) Captured(dst []signal.Edge) ([]signal.Edge, error) {
	if err := b.failed(); err != nil {
		return dst, err
	}
	dst, err := b.listen.take(dst)
	if err != nil {
		err = fmt.Errorf("bench on the character device, at %v: %w", b.clock(), err)
	}
	return dst, err
}

// Restart holds the board's reset line low for a while; see [CharSettings]. What is
// driven goes on meanwhile.
func (b *CharBench) Restart() error {
	if err := b.failed(); err != nil {
		return err
	}
	if b.reset == nil {
		return rig.ErrNotPossible
	}
	err := b.reset.Set(1, 0)
	sleep(b.resetFor)
	if err = errors.Join(err, b.reset.Set(1, 1)); err != nil {
		return fmt.Errorf("bench on the character device: reset the board: %w", err)
	}
	return nil
}

// Safe brings every driven line to its idle level and drops what was handed over. It
// tries so where the bench has failed, too.
func (b *CharBench) Safe() (err error) {
	if b.closed {
		return nil
	}
	b.play.do(false, func(now signal.Time) { err = b.makeSafe(now) })
	return errors.Join(err, b.safePorts())
}

// makeSafe runs on the player's thread.
func (b *CharBench) makeSafe(now signal.Time) error {
	b.play.drop()
	var mask, levels uint64
	for i, l := range b.layout.Lines {
		mask |= b.bit[i]
		if l.Idle {
			levels |= b.bit[i]
		}
	}
	err := b.play.out.Set(mask, levels)
	after := b.clock()
	if err != nil {
		b.play.fail(err)
		return fmt.Errorf("bench on the character device: make the lines safe: %w", err)
	}
	for i, l := range b.layout.Lines {
		b.planned[i] = l.Idle
		if b.bit[i] != 0 && b.play.level[i] != l.Idle {
			b.play.level[i] = l.Idle
			b.play.last[b.group[i]] = after
			b.play.tell(signal.Edge{At: after, Uncertainty: uint32(min(max(after-now, 1), math.MaxUint32)), Line: signal.Line(i), Level: l.Idle})
		}
	}
	for i := range b.ports {
		b.ports[i].busy = after
	}
	for i := range b.before {
		b.before[i] = after
	}
	b.until = after
	return nil
}

// Timing returns how well the bench kept time since it was opened.
func (b *CharBench) Timing() (t CharTiming) {
	read := func(signal.Time) { t.Late, t.Calls = b.play.late, b.play.took }
	if b.closed {
		read(0)
	} else {
		b.play.do(false, read)
	}
	t.CharCount = b.listen.counted()
	return t
}

// Close makes the bench safe and gives the lines back. What an output does from then
// on is up to the chip's driver; most leave it as it is.
func (b *CharBench) Close() error {
	if b.closed {
		return nil
	}
	b.closed = true
	var safe error
	b.play.do(true, func(now signal.Time) { safe = b.makeSafe(now) })
	b.listen.end()
	if b.back != nil {
		b.back.end()
	}
	return errors.Join(safe, b.giveBack())
}
