package main

import (
	"errors"
	"fmt"
	"io"
	"strings"

	"github.com/spf13/cobra"

	"hilrig/suites"
	"hilrig/suites/report/plots"
	"hilrig/suites/setup"
	"hilrig/suites/terminal"
)

// newPlay returns the command that plays one hold by hand.
func newPlay() *cobra.Command {
	var f inputFlags
	var l liveFlags
	var plot string
	c := &cobra.Command{
		Use:   "play [FOLDER] WORD=VALUE...",
		Short: "hold one stimulus by hand and show what each motor does",
		Long: `Holds speed, steering, throttle and gain with the yaw rate on demand, then with
the yaw rate that you ask for, and shows how far each motor's command shifted and
what it was over time; --plot draws that as a picture. On a terminal it is held at the
clock's pace, and a line for each motor moves meanwhile.
No policy is asked and nothing is kept.

  speed     at the centre of gravity, 4m/s; below 0 in reverse
  steer     mean angle of the front wheels, 8deg; to the left
  yaw       70% of the demand, or an absolute yaw rate such as 20deg/s
  throttle  40%
  gain      the gain trim, 50%
  for       how long to read each of the two, 400ms

Values need their unit. What you leave out is 4m/s, 0deg, 100%, 40%, 50%, 400ms.

Ends with 0 when all four motors were read, right or wrong; with 1 when no command
came for a motor, for a board whose inputs are all there sends every motor commands
whatever its policy; with 2 when a motor could not be read because the rig was late
or its sampler left the commands open, which says nothing of the board.`,
		Example: `  hilrig play steer=8deg speed=4m/s yaw=70%
  hilrig play steer=-8deg speed=6m/s yaw=-90deg/s throttle=25% for=1s`,
		RunE: func(c *cobra.Command, args []string) error {
			folders, words := setup.Folders(args)
			hold, err := suites.HoldOf(words)
			if err != nil {
				return fmt.Errorf("play: %w", err)
			}
			if _, err := f.resolve(c, folders, true); err != nil {
				if word, ok := errors.AsType[setup.NoFolder](err); ok {
					err = fmt.Errorf("%q says no value; write it like steer=8deg, or name a folder that hilrig new made", string(word))
				}
				return fmt.Errorf("play: %w", err)
			}
			setup, err := f.loadFor(c, nil)
			if err != nil {
				return err
			}
			if hold.OfDemand && setup.Car.Policy.Demand == nil {
				return errors.New("play: the car's policy declares no demand to take a share of; write the yaw rate out, yaw=20deg/s")
			}
			if err := l.on(c, setup); err != nil {
				return err
			}
			motors := terminal.MotorsOn(c.OutOrStdout(), setup.Plan().Real == "")
			if motors != nil {
				hold.Watch = motors.Show
			}
			played, err := setup.Play(c.Context(), hold)
			motors.End()
			if err != nil {
				return err
			}
			if plot != "" {
				picture := func(out io.Writer) error { return plots.Along(out, "by hand: "+strings.Join(args, " "), played.Along) }
				if err := writeTo(plot, c.OutOrStdout(), picture); err != nil {
					return err
				}
			}
			printPlayed(screenOn(c.OutOrStdout()), &hold, played)
			return endWith(exitOf(played.Outcome()))
		},
	}
	f.add(c)
	l.add(c)
	c.Flags().StringVar(&plot, "plot", "", "draw yaw rate and commands over time into `FILE`, as SVG; - is standard output")
	return c
}
