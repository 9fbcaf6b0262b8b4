package plots

import (
	"io"
	"math"

	"hilrig/plant"
	"hilrig/rig/trace"
	"hilrig/suites/record"
)

// Along draws what was played and commanded along a case as a record keeps it, the yaw rate first
// and then each motor, with the least and the most of each bin about its mean.
func Along(w io.Writer, title string, a *record.Along) error {
	times := make([]float64, len(a.Motors[0].Mean))
	for i := range times {
		times[i] = float64(float64(a.BinNS)*float64(i)) / 1e9
	}
	var panels []Panel
	if yaw := a.Played[trace.YawRate.String()]; len(yaw) == len(times) {
		panels = append(panels, Panel{Name: "yaw rate", Unit: "deg/s", Least: 1,
			Series: []Series{{Name: "played", Unit: "deg/s", At: times, Value: scaled(yaw, 180/math.Pi)}}})
	}
	for i, wheel := range plant.Wheels {
		m := &a.Motors[i]
		panels = append(panels, Panel{Name: wheel.String(), Unit: "% of range", Least: 2, Series: []Series{{
			Name: "command", Unit: "% of range", At: times, Stepped: true,
			Value: scaled(m.Mean, 100), Low: scaled(m.Low, 100), High: scaled(m.High, 100),
		}}})
	}
	return Over(w, title, panels)
}

// scaled returns all values times x.
func scaled(values []float64, x float64) []float64 {
	out := make([]float64, len(values))
	for i, v := range values {
		out[i] = v * x
	}
	return out
}
