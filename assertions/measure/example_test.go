package measure_test

import (
	"fmt"
	"math"

	"hilrig/assertions/measure"
)

// A board reads the speed every 4 ms and sends it every 3 ms. How often it reads is found
// from the speed that was played and the frames that came back, without a look inside.
func ExampleUpdatePeriod() {
	speed := func(t float64) float64 { return 3 + 2*math.Sin(2*math.Pi*(4.2*t+0.08*t*t)) }
	in := measure.Excitation{Step: 1e-3}
	for i := range 1200 {
		in.Values = append(in.Values, speed(float64(i)*in.Step))
	}
	var frames []measure.Answer
	for at := 0.0101; at < 1.2; at += 0.003 {
		read := math.Floor(at/0.004) * 0.004
		frames = append(frames, measure.Answer{At: at, Value: speed(read) / 10})
	}
	u, err := measure.UpdatePeriod(in, frames, 1e-5)
	if err != nil {
		fmt.Println(err)
		return
	}
	fmt.Printf("decided: %t\n", u.Decided())
	fmt.Printf("the board reads every %.2f ms\n", 1000*u.Period)
	// Output:
	// decided: true
	// the board reads every 4.00 ms
}
