//go:build linux

package serial

import (
	"bytes"
	"os"
	"path/filepath"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"go.bug.st/serial"
	"golang.org/x/sys/unix"

	"hilrig/rig/raspberry/realtime"
	"hilrig/rig/raspberry/serial/serialtest"
	"hilrig/rig/signal"
)

var portSpec = signal.PortSpec{Name: "yaw_serial", Baud: 115200}

// inRealTime skips a test that keeps real time where somebody has not said with HILRIG_QUIET
// that no other tests run beside it.
func inRealTime(t testing.TB) {
	t.Helper()
	if os.Getenv("HILRIG_QUIET") == "" {
		t.Skip("keeps real time: bash .ci/run real-time runs it by itself")
	}
}

func openTerminal(t testing.TB, spec signal.PortSpec) (*Port, *serialtest.Far, realtime.Clock) {
	f, c := serialtest.Terminal(t), realtime.System{}
	p, err := Open(spec, f.Device, c.Now, realtime.Scheduling{})
	require.NoError(t, err)
	t.Cleanup(func() { assert.NoError(t, p.Close()) })
	return p, f, c
}

// On a machine with other work it is tried until the machine has time.
func TestADeviceSendsAllBytesInOrderAndNoneEarly(t *testing.T) {
	inRealTime(t)
	onTime := false
	for try := 0; try < 20 && !onTime; try++ {
		onTime = sendAll(t)
	}
	assert.True(t, onTime, "most bytes come when they are due, and not with the next")
}

// sendAll sends 20 messages and says whether most came on time.
func sendAll(t *testing.T) bool {
	p, f, c := openTerminal(t, portSpec)
	all := make([]byte, 256) // what a terminal would change, too
	for i := range all {
		all[i] = byte(i)
	}
	start := c.Now() + 20*signal.Millisecond
	var want []byte
	var due []signal.Time
	for i := range signal.Time(20) {
		at := start + i*7*signal.Millisecond
		part := all[i*12 : i*12+12]
		end, err := p.Send(at, part)
		require.NoError(t, err)
		assert.InDelta(t, float64(at)+12*10/115200.0*1e9, float64(end), 2)
		want = append(want, part...)
		for range part {
			due = append(due, at)
		}
	}
	all[0], all[12] = 0xEE, 0xEE // no reference is kept
	f.Hear(t, len(want), c.Now)
	assert.Equal(t, want, f.Data)
	late := 0
	for i, at := range f.At {
		require.GreaterOrEqual(t, at, due[i], "byte %d is early", i)
		if at > due[i]+6*signal.Millisecond {
			late++
		}
	}
	return late < len(want)/2
}

func TestADevicesBytesFollowEachOther(t *testing.T) {
	inRealTime(t)
	for _, c := range []struct {
		name string
		spec signal.PortSpec
		bits float64 // of a byte
	}{
		{"10 bits", signal.PortSpec{Name: "p", Baud: 9600}, 10},
		{"even parity, 2 stop bits, a rate of its own", signal.PortSpec{Name: "p", Baud: 100000, Parity: signal.EvenParity, StopBits: 2}, 12},
		{"odd parity", signal.PortSpec{Name: "p", Baud: 460800, Parity: signal.OddParity}, 11},
	} {
		t.Run(c.name, func(t *testing.T) {
			p, f, clock := openTerminal(t, c.spec)
			length := func(n int) float64 { return float64(n) * c.bits / float64(c.spec.Baud) * 1e9 }
			at := clock.Now() + 5*signal.Millisecond
			first, err := p.Send(at, make([]byte, 30))
			require.NoError(t, err)
			second, err := p.Send(at, []byte{1, 2, 3})
			require.NoError(t, err)
			assert.InDelta(t, float64(at)+length(30), float64(first), 2)
			assert.InDelta(t, float64(first)+length(3), float64(second), 2, "bytes under way are finished first")
			f.Hear(t, 33, clock.Now)
			assert.Equal(t, append(make([]byte, 30), 1, 2, 3), f.Data)
			assert.GreaterOrEqual(t, f.At[32], first, "nor are they written before")
		})
	}
}

func TestADevicesModeIsSet(t *testing.T) {
	_, f, _ := openTerminal(t, signal.PortSpec{Name: "bus", Baud: 100000, Parity: signal.EvenParity, StopBits: 2})
	m, err := unix.IoctlGetTermios(int(f.Fd()), unix.TCGETS2)
	require.NoError(t, err)
	assert.EqualValues(t, 100000, m.Ospeed)
	assert.EqualValues(t, unix.CSTOPB|unix.CS8, m.Cflag&(unix.CSTOPB|unix.CSIZE|unix.CRTSCTS)) // a pseudo terminal has no parity
	assert.Zero(t, m.Lflag&(unix.ECHO|unix.ICANON|unix.ISIG), "it is no terminal")
	assert.Zero(t, m.Oflag&unix.OPOST)
}

func TestADevicesForm(t *testing.T) {
	for _, c := range []struct {
		spec signal.PortSpec
		want serial.Mode
	}{
		{signal.PortSpec{Baud: 9600}, serial.Mode{BaudRate: 9600, DataBits: 8}},
		{signal.PortSpec{Baud: 100000, Parity: signal.EvenParity, StopBits: 2}, serial.Mode{BaudRate: 100000, DataBits: 8, Parity: serial.EvenParity, StopBits: serial.TwoStopBits}},
		{signal.PortSpec{Baud: 300, Parity: signal.OddParity, StopBits: 1}, serial.Mode{BaudRate: 300, DataBits: 8, Parity: serial.OddParity}},
	} {
		assert.Equal(t, c.want, *modeOf(c.spec))
	}
}

func TestSafeDropsWhatADeviceHasNotSent(t *testing.T) {
	inRealTime(t)
	p, f, c := openTerminal(t, portSpec)
	_, err := p.Send(c.Now()+100*signal.Millisecond, make([]byte, 100))
	require.NoError(t, err)
	require.NoError(t, p.Safe())
	require.NoError(t, p.Safe(), "it may be called again")
	f.Silence(t, 200*time.Millisecond)
	at := c.Now() + 5*signal.Millisecond
	end, err := p.Send(at, []byte{7})
	require.NoError(t, err)
	assert.InDelta(t, float64(at)+10/115200.0*1e9, float64(end), 2, "nothing is under way any more")
	f.Hear(t, 1, c.Now)
	assert.Equal(t, []byte{7}, f.Data)
}

// Nobody takes the bytes: the write does not end. Safe and Close do, and the rest
// of the message is gone.
func TestSafeEndsAWriteThatIsHeldUp(t *testing.T) {
	inRealTime(t)
	p, f, c := openTerminal(t, portSpec)
	for range 3 {
		_, err := p.Send(c.Now(), bytes.Repeat([]byte{0x55}, 20000))
		require.NoError(t, err)
	}
	held := p.isWriting
	require.Eventually(t, func() bool { // not a write that is soon over
		for range 20 {
			if !held() {
				return false
			}
			time.Sleep(time.Millisecond)
		}
		return true
	}, 10*time.Second, time.Millisecond, "the terminal takes no more")
	buffer := make([]byte, 1<<12)
	began := time.Now()
	require.NoError(t, p.Safe())
	assert.Less(t, time.Since(began), 2*time.Second)
	for held() { // a terminal wakes its writer when somebody reads, and only then
		require.NoError(t, f.SetReadDeadline(time.Now().Add(10*time.Millisecond)))
		n, _ := f.Read(buffer)
		f.Data = append(f.Data, buffer[:n]...)
	}
	_, err := p.Send(c.Now()+signal.Millisecond, []byte{0xAA})
	require.NoError(t, err)
	for !bytes.Contains(f.Data, []byte{0xAA}) {
		f.Hear(t, len(f.Data)+1, c.Now)
	}
	assert.Less(t, len(f.Data), 20000, "what the terminal had taken already, and not the rest")
}

// What comes in, orders to stop sending among it, changes nothing.
func TestADeviceIgnoresWhatComesIn(t *testing.T) {
	inRealTime(t)
	p, f, c := openTerminal(t, portSpec)
	junk := bytes.Repeat([]byte{0x13, 0x03, 0x1C, 0x04, '\n', 0x1A, 0x00, 0xFF}, 64) // XOFF, interrupt, quit, end, suspend
	_, err := f.Write(junk)
	require.NoError(t, err)
	_, err = p.Send(c.Now()+5*signal.Millisecond, []byte{1, 2, 3})
	require.NoError(t, err)
	f.Hear(t, 3, c.Now)
	assert.Equal(t, []byte{1, 2, 3}, f.Data, "and there is no echo")
}

func TestWhyADeviceCannotBeOpened(t *testing.T) {
	plain := filepath.Join(t.TempDir(), "plain")
	require.NoError(t, os.WriteFile(plain, nil, 0o600))
	used := serialtest.Terminal(t)
	p, err := Open(portSpec, used.Device, realtime.System{}.Now, realtime.Scheduling{})
	require.NoError(t, err)
	defer p.Close()
	for _, c := range []struct {
		name, device string
		want         []string
	}{
		{"missing", "/dev/ttyAMA77", []string{"port yaw_serial", "/dev/ttyAMA77", "no such file", "enable_uart=1", "disable-bt"}},
		{"busy", used.Device, []string{used.Device, "another program has it", "console"}},
		{"no device", plain, []string{plain, "name the file of a serial device"}},
	} {
		t.Run(c.name, func(t *testing.T) {
			_, err := Open(portSpec, c.device, realtime.System{}.Now, realtime.Scheduling{})
			for _, w := range c.want {
				assert.ErrorContains(t, err, w)
			}
		})
	}
	require.NoError(t, p.Close())
	again, err := Open(portSpec, used.Device, realtime.System{}.Now, realtime.Scheduling{})
	require.NoError(t, err, "it was given back")
	assert.NoError(t, again.Close())
	assert.NoError(t, again.Close(), "it may be called again")
	_, err = again.Send(0, []byte{1})
	assert.Error(t, err, "and is closed")
}

func TestRefusalNamesTheRemedy(t *testing.T) {
	for err, want := range map[error]string{
		unix.EACCES: "dialout",
		unix.ENOENT: "enable_uart=1",
		errSpeed:    "115200 baud need another device",
		unix.EIO:    "name another device",
	} {
		assert.ErrorContains(t, refusal(portSpec, "/dev/x", err), want)
	}
}

// gone is a device that was pulled out.
type gone struct{}

func (gone) Write([]byte) (int, error) { return 0, unix.EIO }
func (gone) ResetOutputBuffer() error  { return nil }
func (gone) Close() error              { return nil }

func TestADeviceThatIsGoneIsReportedAtTheNextSend(t *testing.T) {
	c := realtime.System{}
	p, err := Start(portSpec, gone{}, c.Now, realtime.Scheduling{})
	require.NoError(t, err)
	defer p.Close()
	_, err = p.Send(c.Now(), []byte{1})
	require.NoError(t, err)
	require.Eventually(t, func() bool { _, err = p.Send(c.Now(), []byte{1}); return err != nil }, 5*time.Second, time.Millisecond)
	assert.ErrorContains(t, err, "port yaw_serial: input/output error; its device is gone, as when an adapter is pulled")
	assert.Equal(t, "see whether its device is still there", lossOf(unix.EINVAL))
}

func TestSendOnADeviceAllocatesNothing(t *testing.T) {
	c := realtime.System{}
	p, err := Start(portSpec, gone{}, c.Now, realtime.Scheduling{})
	require.NoError(t, err)
	defer p.Close()
	data := make([]byte, 40)
	later := c.Now() + signal.Second*1000
	assert.Zero(t, testing.AllocsPerRun(500, func() {
		_, err := p.Send(later, data)
		require.NoError(t, err)
	}))
	_, err = p.Send(later, make([]byte, mostBytes))
	assert.ErrorContains(t, err, "too much is still under way")
}
