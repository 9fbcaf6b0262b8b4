package live

import (
	"fmt"
	"strings"
)

// Next says what was made to start from, and what to type next. The paths are as they are typed: car,
// bench, suite, on a Pi the unit, and the setup file; or a stand alone.
func Next(folder string, paths []string, on, stand bool) string {
	if stand {
		return fmt.Sprintf(`made %[1]s

next
  hilrig esc %[1]s
  hilrig lint %[1]s

The first says GO: the simulated stand and this file have the demo's numbers.
Put your own where it says "guessed".
`, paths[0])
	}
	last := len(paths) - 1
	made := strings.Join(paths[:last], ", ") + " and " + paths[last]
	if on {
		return fmt.Sprintf(`made %[1]s

next
  hilrig lint %[2]s
  hilrig run %[2]s --bank memory --attended=no
  hilrig wiring %[2]s --svg header.svg --circuit circuit.svg --parts

The second plays them in memory, without a wire. On the Pi, after the unit is in
place and the board is wired: hilrig ready %[2]s. Put your own where it
says "guessed".
`, made, folder)
	}
	return fmt.Sprintf(`made %[1]s

next
  hilrig run %[2]s
  hilrig play %[2]s steer=8deg yaw=70%%
  hilrig lint %[2]s

The first says GO: the built-in board and these files have the demo car's
numbers. Put your own where it says "guessed".
`, made, folder)
}
