//go:build linux

package chardev

import (
	"fmt"
	"path/filepath"

	"hilrig/rig/raspberry/cdev"
)

// headerLabels are what the drivers of the header's lines call their chips: of a Pi 3,
// 4 and 5 (raspberrypi/linux, drivers/pinctrl, from memory).
var headerLabels = map[string]bool{"pinctrl-bcm2835": true, "pinctrl-bcm2711": true, "pinctrl-rp1": true}

// HeaderChip returns the path of the GPIO chip that has the header's lines, the offset of
// GPIOn being n. Its number differs from kernel to kernel. It fails where there is none
// that may be opened.
func HeaderChip() (string, error) { return chipLabelled(headerLabels) }

func chipLabelled(labels map[string]bool) (string, error) {
	paths, err := filepath.Glob("/dev/gpiochip*")
	if err != nil {
		return "", err
	}
	for _, path := range paths {
		var c *cdev.Chip
		if c, err = cdev.Open(path); err != nil {
			continue
		}
		label := c.Info().Label
		_ = c.Close()
		if labels[label] {
			return path, nil
		}
	}
	if err != nil {
		return "", fmt.Errorf("no GPIO chip has the header's lines: %w", err)
	}
	return "", fmt.Errorf("none of the %d GPIO chips has the header's lines; use a Raspberry Pi, and add the user to the group gpio", len(paths))
}
