package esc

import (
	"context"
	"math"

	"hilrig/assertions/characteristic"
	"hilrig/rig/signal"
	"hilrig/suites/file"
)

const (
	stepReadings = 3 // that have to be there before the step, and at its end
	stepClear    = 3 // as many times as far as readings at rest lie apart a tenth of the change has to be
)

// begins is the part of the 10 % to 90 % time of a lag of the first order that goes by before 10 %: ln(1/0.9)/ln 9.
const begins = 0.047952

// step plays a step of throttle and times its answer by the source's readings.
func (st *staircase) step(ctx context.Context, cycle int) error {
	plan := st.stand.Plan.Step
	hold := plan.Hold
	if st.held.Kind == file.Locked {
		hold = min(hold, st.held.LevelLimit)
	}
	if err := st.near(ctx, 0, plan.From); err != nil {
		return err
	}
	st.sources.mark()
	st.bounds.level(st.next, 2*hold)
	defer st.bounds.over()
	if err := st.hold(ctx, plan.From, hold); err != nil {
		return err
	}
	slow := st.slow()
	if err := st.hold(ctx, plan.To, hold); err != nil {
		return err
	}
	at, ended := st.stepped, st.next
	st.throttleLoop.set(0)
	for range 2 { // what is still under way
		if err := st.turn(ctx); err != nil {
			return err
		}
	}
	answer := characteristic.Step{From: plan.From, To: plan.To, Cycle: cycle, Delay: math.NaN(), Rise: math.NaN()}
	why := ""
	switch {
	case slow:
		why = "the shaft does not reach the speed that the brake holds before it; let plan: step begin higher"
	case at == 0:
		why = "the throttle line did not carry it"
	default:
		why = timed(st.series(), at, ended, hold, &answer)
	}
	if why != "" {
		st.events.add(ended, "throttle", "a step of throttle has no answer that can be timed: "+why, 1)
	}
	st.set.Steps = append(st.set.Steps, answer)
	return nil
}

// series returns what the source has read since the mark, in its own unit: a torque, or the current that torque is made of.
func (st *staircase) series() []value {
	s := st.sources
	switch st.source {
	case file.FromLoadCell:
		return s.cell.recorded
	case file.FromTelemetry:
		var list []value
		for i := range s.telemetry.recorded {
			list = append(list, value{s.telemetry.recorded[i].At, s.telemetry.recorded[i].Current})
		}
		return list
	case file.FromBus:
		return s.onBus(file.BusCurrent).recorded
	}
	return nil
}

// timed times an answer to a step at at, from a series of readings that ends with the step's hold. Each of 10 % and 90 % of the change
// was passed between the last reading below and the first above: the middle is taken, and what lies between two
// readings is said with it. It returns why there is no answer.
func timed(series []value, at, ended, hold signal.Time, answer *characteristic.Step) (why string) {
	before, u, n := mean(series, at-hold/2, at)
	after, ua, na := mean(series, ended-hold/3, ended)
	if n < stepReadings || na < stepReadings {
		return "too few readings before it or at its end; give a longer step_hold, or a source that reads faster"
	}
	change := after - before
	noise := max(u*math.Sqrt(float64(n)), ua*math.Sqrt(float64(na)))
	if change == 0 || math.Abs(change)/10 < stepClear*noise {
		return "its answer does not stand out from noise"
	}
	passes := func(share float64) (middle, apart float64) {
		last := at
		for _, v := range series {
			switch {
			case v.at < at:
			case (v.x-before)/change < share:
				last = v.at
			default:
				return ((v.at + last) / 2).Seconds(), (v.at - last).Seconds()
			}
		}
		return math.NaN(), 0
	}
	low, a := passes(0.1)
	high, b := passes(0.9)
	answer.Rise = high - low
	answer.Delay = max(low-at.Seconds()-begins*answer.Rise, 0)
	every := 0.0 // between readings about the step
	for i := 1; i < len(series); i++ {
		if series[i].at >= at && series[i-1].at <= at {
			every = (series[i].at - series[i-1].at).Seconds()
		}
	}
	answer.Every = max(a, b, every)
	return ""
}
