package live

import "fmt"

// Next says what was made to start from, and what to type next. The paths are as they are typed: car,
// bench, suite and, on a Pi, the unit; or a stand alone.
func Next(paths []string, on, stand bool) string {
	if stand {
		return fmt.Sprintf(`made %[1]s

next
  hilrig esc %[1]s
  hilrig lint %[1]s

The first says GO: the simulated stand and this file have the demo's numbers.
Put your own where it says "guessed".
`, paths[0])
	}
	car, bench, suite := paths[0], paths[1], paths[2]
	if on {
		return fmt.Sprintf(`made %[1]s, %[2]s, %[3]s and %[4]s

next
  hilrig lint %[1]s %[2]s %[3]s
  hilrig run --bank memory --attended=no --car %[1]s --bench %[2]s %[3]s
  hilrig wiring --bench %[2]s --svg header.svg --circuit circuit.svg --parts

The second plays them in memory, without a wire. On the Pi, after the unit is in
place and the board is wired: hilrig ready --bench %[2]s. Put your own where it
says "guessed".
`, car, bench, suite, paths[3])
	}
	return fmt.Sprintf(`made %[1]s, %[2]s and %[3]s

next
  hilrig run --car %[1]s --bench %[2]s %[3]s
  hilrig play --car %[1]s --bench %[2]s steer=8deg yaw=70%%
  hilrig lint %[1]s %[2]s %[3]s

The first says GO: the built-in board and these files have the demo car's
numbers. Put your own where it says "guessed".
`, car, bench, suite)
}
