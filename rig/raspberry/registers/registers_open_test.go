package registers

import (
	"encoding/hex"
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
	"strings"
	"syscall"
	"testing"
	"testing/fstest"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"periph.io/x/host/v3/pmem"

	"hilrig/rig/raspberry/pinout"
)

// tree is a device tree with these GPIO registers. The ranges are those of
// torvalds/linux, bcm2837.dtsi and bcm2711-rpi-4-b.dts, READ from the compiled trees of
// Debian's kernel 6.1.
func tree(compatible, cells, ranges string) fstest.MapFS {
	return fstest.MapFS{
		"proc/device-tree/soc/gpio@7e200000/compatible": {Data: []byte(compatible + "\x00")},
		"proc/device-tree/#address-cells":               {Data: unhex(cells)},
		"proc/device-tree/soc/ranges":                   {Data: unhex(ranges)},
	}
}

func unhex(text string) []byte {
	data, err := hex.DecodeString(strings.ReplaceAll(text, " ", ""))
	if err != nil {
		panic(err)
	}
	return data
}

var (
	treePi3 = tree("brcm,bcm2835-gpio", "00000001", "7e000000 3f000000 01000000 40000000 40000000 00001000")
	treePi4 = tree("brcm,bcm2711-gpio", "00000002", "7e000000 00000000 fe000000 01800000 7c000000 00000000 fc000000 02000000 40000000 00000000 ff800000 00800000")
)

func inMemory(size int) *pmem.View { return &pmem.View{Slice: make([]byte, size)} }

func TestOpenRegistersTakesWhatTheKernelOffers(t *testing.T) {
	noFile := fmt.Errorf("wrapped: %w", fs.ErrNotExist)
	for _, c := range []struct {
		name    string
		model   pinout.Model
		tree    fs.FS
		gpiomem error
		address uint64 // of /dev/mem; 0: not asked for
	}{
		{"Pi 3, /dev/gpiomem", pinout.Pi3, treePi3, nil, 0},
		{"Pi 4, /dev/gpiomem", pinout.Pi4, treePi4, nil, 0},
		// The addresses: Raspberry Pi documentation, "Peripheral Addresses", MEM.
		{"Pi 3, /dev/mem", pinout.Pi3, treePi3, noFile, 0x3f200000},
		{"Pi 4, /dev/mem", pinout.Pi4, treePi4, noFile, 0xfe200000},
	} {
		t.Run(c.name, func(t *testing.T) {
			asked := uint64(0)
			r, err := openRegisters(c.model, c.tree, mappers{
				func() (*pmem.View, error) { return inMemory(4096), c.gpiomem },
				func(address uint64, size int) (*pmem.View, error) {
					asked = address
					return inMemory(size), nil
				},
			})
			require.NoError(t, err)
			assert.Equal(t, c.address, asked)
			require.NoError(t, r.Output(17, true))
			assert.Equal(t, c.model == pinout.Pi3, r.pullCode != nil)
		})
	}
}

func TestOpenRegistersRefusesOtherMachines(t *testing.T) {
	never := mappers{
		func() (*pmem.View, error) { panic("nothing may be mapped") },
		func(uint64, int) (*pmem.View, error) { panic("nothing may be mapped") },
	}
	for _, c := range []struct {
		name  string
		model pinout.Model
		tree  fs.FS
		says  string
	}{
		{"a Pi 5", pinout.Pi5, treePi4, "use the character device"},
		{"no Pi", pinout.NoPi, treePi3, "no Raspberry Pi"},
		{"another Pi", pinout.Other, treePi3, "another Raspberry Pi"},
		{"a model beyond the table", pinout.Pi5 + 1, treePi3, "character device"},
		{"a Pi 5 taken for a Pi 4", pinout.Pi4, fstest.MapFS{"proc/device-tree/compatible": {Data: []byte("brcm,bcm2712\x00")}}, "this is no Pi 4B"},
		{"a Pi 3 taken for a Pi 4", pinout.Pi4, treePi3, `"brcm,bcm2835-gpio"`},
		{"a Pi 4 taken for a Pi 3", pinout.Pi3, treePi4, `"brcm,bcm2711-gpio"`},
		{"no ranges", pinout.Pi3, tree("brcm,bcm2835-gpio", "00000001", ""), "does not say where"},
		{"ranges of something else", pinout.Pi3, tree("brcm,bcm2835-gpio", "00000001", "40000000 40000000 00001000"), "does not say where"},
		{"half a range", pinout.Pi3, tree("brcm,bcm2835-gpio", "00000001", "7e000000 3f000000"), "does not say where"},
		{"addresses of three cells", pinout.Pi3, tree("brcm,bcm2835-gpio", "00000003", "7e000000"), "cells"},
		{"cells of nothing", pinout.Pi3, tree("brcm,bcm2835-gpio", "", "7e000000"), "cells"},
	} {
		t.Run(c.name, func(t *testing.T) {
			r, err := openRegisters(c.model, c.tree, never)
			assert.ErrorContains(t, err, c.says)
			assert.Nil(t, r)
		})
	}
}

func TestOpenRegistersSaysWhatToDoAboutTheMapping(t *testing.T) {
	denied := fmt.Errorf("wrapped: %w", fs.ErrPermission)
	missing := fmt.Errorf("wrapped: %w", fs.ErrNotExist)
	for _, c := range []struct {
		name         string
		gpiomem, mem error
		view         *pmem.View
		says         string
	}{
		{"not in the group", denied, nil, nil, "usermod -aG gpio"},
		{"neither device", missing, missing, nil, "iomem=relaxed"},
		{"no /dev/gpiomem, and no root", missing, denied, nil, "be root"},
		{"the kernel refuses", errors.New("failed to memory map"), nil, nil, "kernel's log"},
		{"nothing, and no error", nil, nil, nil, "nothing was mapped"},
		{"too little", nil, nil, inMemory(0xf0), "nothing was mapped"},
		{"too little of /dev/mem", missing, nil, inMemory(0), "nothing was mapped"},
	} {
		t.Run(c.name, func(t *testing.T) {
			r, err := openRegisters(pinout.Pi3, treePi3, mappers{
				func() (*pmem.View, error) { return c.view, c.gpiomem },
				func(uint64, int) (*pmem.View, error) { return c.view, c.mem },
			})
			assert.ErrorContains(t, err, c.says)
			assert.Nil(t, r)
		})
	}
}

// A mapped file with nothing in it: there are addresses, and each access faults.
func TestOpenRegistersSurvivesAMappingOfNothing(t *testing.T) {
	file, err := os.Create(filepath.Join(t.TempDir(), "empty"))
	require.NoError(t, err)
	defer file.Close()
	nothing, err := syscall.Mmap(int(file.Fd()), 0, 4096, syscall.PROT_READ|syscall.PROT_WRITE, syscall.MAP_SHARED)
	require.NoError(t, err)
	t.Cleanup(func() { assert.NoError(t, syscall.Munmap(nothing)) })
	r, err := openRegisters(pinout.Pi3, treePi3, mappers{gpiomem: func() (*pmem.View, error) { return &pmem.View{Slice: nothing}, nil }})
	assert.ErrorContains(t, err, "cannot be read")
	assert.Nil(t, r)
}

func TestOpenRegistersOnThisMachine(t *testing.T) {
	if m := pinout.Identify(os.DirFS("/")).Model; m != pinout.NoPi {
		t.Skipf("this is a %v", m)
	}
	for _, m := range []pinout.Model{pinout.NoPi, pinout.Pi3, pinout.Pi4, pinout.Pi5} {
		_, err := OpenRegisters(m)
		assert.Error(t, err, "%v", m)
	}
}
