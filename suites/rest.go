package suites

import (
	"context"

	"hilrig/rig"
	"hilrig/rig/signal"
	"hilrig/rig/trace"
	"hilrig/stimulus"
	"hilrig/suites/file"
)

// Settle powers the bench's board up and settles: speed, steer, yaw rate,
// throttle and gain at 0, and nothing that would arm it. It returns what came in the
// last length of that, once the board had its ready_after, and how well the bench kept time.
func (s *Setup) Settle(ctx context.Context, length signal.Time) (*trace.Trace, rig.Timing, error) {
	still := s.atZero()
	still.Bench.Board.Arm = nil
	ses, err := still.open(ctx, &file.Suite{Name: "at rest"}, still.board, nil)
	defer ses.close()
	if err != nil {
		return nil, rig.Timing{}, err
	}
	tr := &trace.Trace{}
	err = ses.rig.Play(ctx, stimulus.Held(stimulus.Values{}, length), tr)
	return tr, ses.rig.Timing(), err
}
