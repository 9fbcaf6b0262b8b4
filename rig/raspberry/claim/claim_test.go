//go:build unix

package claim

import (
	"bufio"
	"fmt"
	"io"
	"os"
	"os/exec"
	"path/filepath"
	"strconv"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// claimKey is the variable that has a program of these tests claim the bank in this file,
// say so, and hold it until its input ends.
const claimKey = "HILRIG_TEST_CLAIM"

func init() {
	path := os.Getenv(claimKey)
	if path == "" {
		return
	}
	_, err := PinBank(path)
	if err != nil {
		fmt.Println(err)
		os.Exit(1)
	}
	fmt.Println("claimed")
	_, _ = io.Copy(io.Discard, os.Stdin)
	os.Exit(0)
}

// claimant is another program that asks for a bank.
type claimant struct {
	*exec.Cmd
	input io.Closer
	says  string
}

// startClaimant starts one and waits for what it says.
func startClaimant(t *testing.T, path string, inherits ...*os.File) *claimant {
	t.Helper()
	program, err := os.Executable()
	require.NoError(t, err)
	c := &claimant{Cmd: &exec.Cmd{Path: program, Args: []string{"hilrig", "run", "split"}, Env: append(os.Environ(), claimKey+"="+path), ExtraFiles: inherits}}
	input, err := c.StdinPipe()
	require.NoError(t, err)
	c.input = input
	output, err := c.StdoutPipe()
	require.NoError(t, err)
	require.NoError(t, c.Start())
	t.Cleanup(func() { _ = c.Process.Kill() }) // where it has not ended
	c.says, err = bufio.NewReader(output).ReadString('\n')
	require.NoError(t, err)
	return c
}

func bankToClaim(t *testing.T) string {
	path := filepath.Join(t.TempDir(), "bank")
	require.NoError(t, os.WriteFile(path, make([]byte, 4), 0o600))
	return path
}

func TestTheSecondProgramIsDeniedAndNamesTheFirst(t *testing.T) {
	path := bankToClaim(t)
	first := startClaimant(t, path)
	require.Equal(t, "claimed\n", first.says)
	link := filepath.Join(t.TempDir(), "link")
	require.NoError(t, os.Symlink(path, link))
	for _, name := range []string{path, link} {
		_, err := PinBank(name)
		require.Error(t, err)
		assert.Regexp(t, "^the bank "+name+`: in use by hilrig run split \(process `+strconv.Itoa(first.Process.Pid)+`, since \d{4}-\d\d-\d\d \d\d:\d\d:\d\d\); wait until that has ended, or end it$`, err.Error())
		var used *InUse
		require.ErrorAs(t, err, &used)
		assert.Equal(t, first.Process.Pid, used.Process)
	}
	second := startClaimant(t, path)
	assert.Contains(t, second.says, "(process "+strconv.Itoa(first.Process.Pid)+", since ")
	require.Error(t, second.Wait())
	other, err := PinBank(bankToClaim(t))
	require.NoError(t, err, "another bank")
	require.NoError(t, other.Release())

	require.NoError(t, first.input.Close())
	require.NoError(t, first.Wait())
	third := startClaimant(t, path)
	assert.Equal(t, "claimed\n", third.says, "the first has ended")
}

func TestAKilledProgramLetsGo(t *testing.T) {
	path := bankToClaim(t)
	first := startClaimant(t, path)
	require.Equal(t, "claimed\n", first.says)
	require.NoError(t, first.Process.Kill())
	_ = first.Wait() // it was killed
	mine, err := PinBank(path)
	require.NoError(t, err)
	second := startClaimant(t, path)
	assert.Contains(t, second.says, "(process "+strconv.Itoa(os.Getpid())+", since ", "the newest is named, not who was killed")
	require.NoError(t, mine.Release())
}

// The worker goes on for a moment after its supervisor has died.
func TestAClaimLastsAsLongAsTheLastWhoWasHandedIt(t *testing.T) {
	path := bankToClaim(t)
	mine, err := PinBank(path)
	require.NoError(t, err)
	worker := startClaimant(t, bankToClaim(t), mine.File())
	require.Equal(t, "claimed\n", worker.says)
	require.NoError(t, mine.Release())
	_, err = PinBank(path)
	require.ErrorContains(t, err, "in use by ")
	require.NoError(t, worker.Process.Kill())
	_ = worker.Wait() // it was killed
	mine, err = PinBank(path)
	require.NoError(t, err)
	require.NoError(t, mine.Release())
}

func TestPinsAreClaimedForTheWholeMachine(t *testing.T) {
	old := Folders
	t.Cleanup(func() { Folders = old })
	folder := t.TempDir()
	Folders = []string{filepath.Join(folder, "none"), folder}
	first, err := Pins()
	require.NoError(t, err)
	about, err := os.Stat(filepath.Join(folder, "hilrig-pins.lock"))
	require.NoError(t, err)
	assert.Equal(t, os.FileMode(0o666), about.Mode().Perm(), "other users' programs ask too")
	_, err = Pins()
	require.ErrorContains(t, err, "the pins of this machine: in use by ")
	require.NoError(t, first.Release())
	second, err := Pins()
	require.NoError(t, err)
	require.NoError(t, second.Release())
	Folders = []string{filepath.Join(folder, "none")}
	_, err = Pins()
	require.ErrorContains(t, err, "make one")
}

func TestALockIsNeverSomebodyElsesFile(t *testing.T) {
	path := bankToClaim(t)
	precious := filepath.Join(t.TempDir(), "precious")
	require.NoError(t, os.WriteFile(precious, []byte("mine"), 0o600))
	require.NoError(t, os.Symlink(precious, path+".lock"))
	_, err := PinBank(path)
	require.Error(t, err)
	data, err := os.ReadFile(precious)
	require.NoError(t, err)
	assert.Equal(t, "mine", string(data))
	require.NoError(t, os.Remove(path+".lock"))
	require.NoError(t, os.Mkdir(path+".lock", 0o700))
	_, err = PinBank(path)
	require.Error(t, err)
	_, err = PinBank(filepath.Join(path+".none", "bank"))
	require.ErrorContains(t, err, "no such file")
}

// What stands in the file goes to a terminal.
func TestWhoHasALockIsPrintable(t *testing.T) {
	path := bankToClaim(t)
	mine, err := PinBank(path)
	require.NoError(t, err)
	_, err = mine.File().WriteAt([]byte("\x1b[2J\x07"), 0)
	require.NoError(t, err)
	_, err = PinBank(path)
	require.ErrorContains(t, err, "in use by ?[2J?")
	require.NoError(t, mine.File().Truncate(0))
	_, err = PinBank(path)
	require.ErrorContains(t, err, "in use by another program")
	require.NoError(t, mine.Release())
}
