package record

import (
	"os"
	"path/filepath"
	"strings"
	"syscall"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// What is no regular file is refused and not read: each of these would be waited for, or has no end. Many of
// Linux's own files say that they have no bytes and have some.
func TestOnlyRegularFilesAreRead(t *testing.T) {
	folder := t.TempDir()
	at := func(name string) string { return filepath.Join(folder, name) }
	require.NoError(t, syscall.Mkfifo(at("pipe"), 0o600))
	require.NoError(t, os.Symlink(at("pipe"), at("to_pipe")))
	require.NoError(t, os.WriteFile(at("ten"), []byte("0123456789"), 0o600))
	require.NoError(t, os.Symlink(at("ten"), at("to_ten")))
	require.NoError(t, os.Symlink(at("round"), at("round")))
	for _, tt := range []struct {
		path string
		most int64
		want string // the content, or how the error ends
		ok   bool
	}{
		{at("ten"), 10, "0123456789", true},
		{at("to_ten"), 10, "0123456789", true},
		{at("ten"), 9, "ten has 10 bytes, and 9 are read at most; name a smaller file", false},
		{at("pipe"), 10, "pipe is a pipe, which is not waited for; write what comes out of it to a file, and name that", false},
		{at("to_pipe"), 10, "to_pipe is a pipe, which is not waited for; write what comes out of it to a file, and name that", false},
		{folder, 10, " is a folder where a file is expected; name a file in it", false},
		{"/dev/zero", 10, "/dev/zero is no regular file but a device or a socket, which is not read; name a file", false},
		{at("none"), 10, "none is not there; name a file that is", false},
		{at("tne"), 10, "tne is not there; use " + at("ten"), false},
		{at("ten/x"), 10, "ten/x is not there: a part of its path is a file and no folder", false},
		{at("no/ten"), 10, "no/ten is not there; " + at("no") + " is no folder that can be read either", false},
		{at("round"), 10, "round cannot be read: too many levels of symbolic links", false},
		{"/proc/self/environ", 10, "/proc/self/environ grew while it was read, to more than 10 bytes", false},
		{"/proc/self/comm", 1 << 10, ".test\n", true},
	} {
		data, err := ReadRegular(tt.path, tt.most)
		if tt.ok {
			require.NoError(t, err, tt.path)
			assert.True(t, strings.HasSuffix(string(data), tt.want), "%s: %q", tt.path, data)
			continue
		}
		require.Error(t, err, tt.path)
		assert.True(t, strings.HasSuffix(err.Error(), tt.want), "%v", err)
		assert.Nil(t, data)
	}
}
