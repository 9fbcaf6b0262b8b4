package pinout

import (
	"fmt"
	"io/fs"
	"slices"
	"strings"

	"hilrig/rig/decode"
)

// Model is a kind of Raspberry Pi, as far as its pins differ.
type Model uint8

// The models.
const (
	NoPi  Model = iota // no Raspberry Pi at all
	Other              // one whose pins hilrig does not know
	Pi3                // 3B, 3B+ and what has the same chip
	Pi4
	Pi5
)

var modelNames = [...]string{"no Raspberry Pi", "another Raspberry Pi", "Pi 3B+", "Pi 4B", "Pi 5"}

// String returns the model's short name, "Pi 4B".
func (m Model) String() string { return modelNames[min(int(m), len(modelNames)-1)] }

// Models are those that a bench can stand on.
var Models = []Model{Pi3, Pi4, Pi5}

// Widest returns the limits of the most able model for each thing. It has no way to
// the pins, for it is no computer.
func Widest() Limits {
	var w Limits
	for _, m := range Models {
		l := m.Limits()
		w.Edges = max(w.Edges, l.Edges)
		for k, support := range l.Motors {
			if support > w.Motors[k] {
				w.Motors[k], w.Reason[k] = support, l.Reason[k]
			}
		}
	}
	return w
}

// chips are the models by the chip in the device tree's compatible
// (torvalds/linux, Documentation/devicetree/bindings/arm/bcm/bcm2835.yaml).
var chips = map[string]Model{"brcm,bcm2837": Pi3, "brcm,bcm2711": Pi4, "brcm,bcm2712": Pi5}

// Host is a computer as its device tree describes it.
type Host struct {
	Model Model
	Name  string // "Raspberry Pi 4 Model B Rev 1.4"; empty without a device tree
}

// Identify reads the device tree in root, which holds proc. A computer without one is
// NoPi.
func Identify(root fs.FS) Host {
	name, _ := fs.ReadFile(root, "proc/device-tree/model") // there is none without a device tree
	h := Host{Name: strings.TrimRight(string(name), "\x00\n ")}
	compatible, _ := fs.ReadFile(root, "proc/device-tree/compatible")
	words := strings.FieldsFunc(string(compatible), func(c rune) bool { return c == 0 })
	maker := slices.ContainsFunc(words, func(w string) bool { return strings.HasPrefix(w, "raspberrypi,") })
	if !maker {
		return h
	}
	h.Model = Other
	for _, w := range words {
		if m, ok := chips[w]; ok {
			h.Model = m
		}
	}
	return h
}

// Access is how hilrig reaches the pins.
type Access uint8

// The kinds of access.
const (
	NoAccess        Access = iota
	Mapped                 // the registers, mapped into the program
	CharacterDevice        // the kernel's GPIO character device
)

var accessNames = [...]string{"none", "registers", "character device"}

// String returns the name of the access.
func (a Access) String() string { return accessNames[min(int(a), len(accessNames)-1)] }

// Support says how well something can be played or captured.
type Support uint8

// The degrees of support.
const (
	No       Support = iota
	Marginal         // with an uncertainty or a loss that is stated
	Yes
)

// Limits is what follows from a model. All of it is worked out from what others
// measured; none has been tried on a real Pi with this program. hilrig timing
// measures what a machine does.
type Limits struct {
	Access Access
	Why    string
	Edges  float64 // edges a second of all driven lines together, at most
	Motors [decode.MotorKinds]Support
	Reason [decode.MotorKinds]string // why a format is not well supported; empty where it is
}

// Limits returns how the model's pins are reached and what follows.
//
// Sources: reads of the bank take 0.055 to 0.1 us on a Pi 3 and 0.115 to 0.175 us on a Pi 4
// (rsta2/circle, issues 86 and 140). With the loop's instructions counted, a turn is reckoned at 0.23 to 0.32 us
// on either, and a stamp to be known to 0.35 to 0.5 us: decode.DShot.Fineness says what that suffices for. The kernel stamps edges 7 to 20 us late on a Pi 5, several us apart
// (jclark/satpulse, discussion 460); several lines are set in 1.7 us (warthog618/go-gpiocdev,
// README). The registers' 1.5 million edges a second are four wheels of 1024 lines at 90
// turns a second, with a read between every two (computed).
func (m Model) Limits() Limits {
	l := Limits{}
	switch m {
	case Pi3, Pi4:
		l.Access, l.Edges = Mapped, 1.5e6
		l.Why = "the chip's GPIO registers can be mapped, and one read takes a fraction of a microsecond"
		for k := range l.Motors {
			l.Motors[k] = Yes
		}
		l.Motors[decode.DShot600] = Marginal
		l.Reason[decode.DShot600] = fmt.Sprintf("%s of its frames are read where the board keeps bit_tolerance: 2 %%, %s where not; look at hilrig timing",
			readWords(decode.DShot600, statedTolerance), readWords(decode.DShot600, widestTolerance))
	case Pi5:
		l.Access, l.Edges = CharacterDevice, 100e3
		l.Why = "its pins stand behind another chip, whose registers take a microsecond to read; the kernel's stamps are what is left"
		l.Motors[decode.ServoPulse] = Yes
		l.Motors[decode.OneShot125] = Marginal
		l.Reason[decode.OneShot125] = "the kernel's stamps are 3 us uncertain, 2.4 % of its range"
		for _, k := range []decode.MotorKind{decode.DShot150, decode.DShot300, decode.DShot600} {
			l.Reason[k] = "its bits are shorter than the kernel's stamps are uncertain"
		}
	case Other:
		l.Why = "hilrig knows the pins of a Pi 3B+, 4B and 5 only"
	default:
		l.Why = "there are no pins"
	}
	return l
}
