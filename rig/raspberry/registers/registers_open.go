package registers

import (
	"bytes"
	"encoding/binary"
	"errors"
	"fmt"
	"io/fs"
	"os"
	"runtime/debug"
	"sync/atomic"

	"periph.io/x/host/v3/pmem"

	"hilrig/rig/raspberry/pinout"
)

// OpenRegisters maps the GPIO registers of this computer, which has to be a Pi 3 or 4,
// and changes nothing. It fails on any other: on a Pi 5 the pins are behind another
// chip, and where the older ones have these registers there is ordinary memory, so that
// root would write over what lies there. Therefore the device tree must confirm the
// model. It uses /dev/gpiomem, which needs no root; where the kernel has none,
// /dev/mem at the address that the device tree names, which needs root and
// iomem=relaxed on the kernel's command line.
//
// Of periph.io/x/host it uses pmem, which maps, and not bcm283x, which drives: that one
// works only after its Init, which takes a Pi 5 for a Pi 4, hands all GPIO chips to
// other drivers, and reports success without a mapping, so that the first access
// panics.
func OpenRegisters(model pinout.Model) (*Registers, error) {
	return openRegisters(model, os.DirFS("/"), mappers{pmem.MapGPIO, pmem.Map})
}

// mappers map /dev/gpiomem, and size bytes of /dev/mem at address. A view is never
// closed: pmem keeps that of /dev/gpiomem for the whole program.
type mappers struct {
	gpiomem func() (*pmem.View, error)
	mem     func(address uint64, size int) (*pmem.View, error)
}

func openRegisters(model pinout.Model, root fs.FS, m mappers) (*Registers, error) {
	switch model {
	case pinout.Pi3, pinout.Pi4:
	case pinout.Pi5:
		return nil, errors.New("registers: a Pi 5 has its pins behind another chip, and memory where the registers were; use the character device")
	default:
		return nil, fmt.Errorf("registers: this is %v, whose pins hilrig does not know; use a Pi 3B+ or 4B, or the character device", model)
	}
	address, err := registersAddress(root, model)
	if err != nil {
		return nil, err
	}
	words, err := m.words(address)
	if err != nil {
		return nil, err
	}
	r := newRegisters(words, model)
	if err := r.probe(); err != nil {
		return nil, err
	}
	return r, nil
}

// words maps the registers.
func (m mappers) words(address uint64) ([]uint32, error) {
	view, err := m.gpiomem()
	cure := "see what the kernel's log says of it"
	switch {
	case errors.Is(err, fs.ErrPermission):
		cure = "sudo usermod -aG gpio $USER, then log in again"
	case errors.Is(err, fs.ErrNotExist):
		view, err = m.mem(address, wordsNeeded*4)
		cure = "the kernel has no /dev/gpiomem: use Raspberry Pi OS, or be root with iomem=relaxed on the kernel's command line"
	}
	if err != nil {
		return nil, fmt.Errorf("registers: %w; %s", err, cure)
	}
	if view == nil || len(view.Slice) < wordsNeeded*4 {
		return nil, fmt.Errorf("registers: nothing was mapped; %s", cure)
	}
	return view.Uint32(), nil
}

// probe reads a register. A mapping without anything behind it is an error then, not
// the end of the program at the first access.
func (r *Registers) probe() (err error) {
	defer debug.SetPanicOnFault(debug.SetPanicOnFault(true))
	defer func() {
		if fault := recover(); fault != nil {
			err = fmt.Errorf("registers: they are mapped and cannot be read: %v; see what the kernel's log says", fault)
		}
	}()
	r.Level()
	atomic.LoadUint32(r.function[0])
	return nil
}

// compatibles are what the device tree says of the models' GPIO registers
// (torvalds/linux, Documentation/devicetree/bindings/pinctrl/brcm,bcm2835-gpio.txt).
var compatibles = map[pinout.Model]string{pinout.Pi3: "brcm,bcm2835-gpio", pinout.Pi4: "brcm,bcm2711-gpio"}

// registersAddress returns where the device tree has the GPIO registers. It fails
// where they are not those of the model.
func registersAddress(root fs.FS, model pinout.Model) (uint64, error) {
	const node = "proc/device-tree/soc/gpio@7e200000" // its address on the chip's own bus
	compatible, err := fs.ReadFile(root, node+"/compatible")
	if err != nil {
		return 0, fmt.Errorf("registers: this is no %v, which has /%s: %w; see what hilrig ready takes it for", model, node, err)
	}
	if words := bytes.Split(compatible, []byte{0}); string(words[0]) != compatibles[model] {
		return 0, fmt.Errorf("registers: this is no %v, whose pins are %s: these are %q; see what hilrig ready takes it for", model, compatibles[model], words[0])
	}
	// Rows of the address on the bus, that of the processor, and the length, in cells of
	// 4 bytes, big end first (Devicetree Specification, section 2.3.8).
	cells, err := fs.ReadFile(root, "proc/device-tree/#address-cells")
	if err != nil {
		return 0, fmt.Errorf("registers: %w; use Raspberry Pi OS", err)
	}
	if len(cells) != 4 || cells[3] < 1 || cells[3] > 2 {
		return 0, fmt.Errorf("registers: the device tree counts addresses in %x cells, not 1 or 2; use Raspberry Pi OS", cells)
	}
	wide := 4 * int(cells[3])
	ranges, err := fs.ReadFile(root, "proc/device-tree/soc/ranges")
	if err != nil {
		return 0, fmt.Errorf("registers: %w; use Raspberry Pi OS", err)
	}
	for ; len(ranges) >= 8+wide; ranges = ranges[8+wide:] {
		begin, length := binary.BigEndian.Uint32(ranges), binary.BigEndian.Uint32(ranges[4+wide:])
		if at := uint32(0x7e200000); at >= begin && at-begin < length {
			address := make([]byte, 8)
			copy(address[8-wide:], ranges[4:4+wide])
			return binary.BigEndian.Uint64(address) + uint64(at-begin), nil
		}
	}
	return 0, errors.New("registers: the device tree does not say where they are; use Raspberry Pi OS")
}
