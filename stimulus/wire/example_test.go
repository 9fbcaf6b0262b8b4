package wire_test

import (
	"fmt"

	"hilrig/plant/portable"
	"hilrig/rig/signal"
	"hilrig/stimulus/wire"
)

// A yaw sensor sends a frame of two constant bytes, a counter, the yaw rate in steps of
// 0.001 rad/s, and a check over counter and yaw rate. The bytes of the check were computed
// by a second implementation as well.
func ExampleNewFrames() {
	noise := portable.NewNoise(1, "yaw sensor")
	e, err := wire.NewFrames(wire.Frame{
		Port: "yaw_serial", Period: 5 * signal.Millisecond,
		Fields: []wire.Field{
			{Kind: wire.Constant, Bytes: []byte{0xA5, 0x5A}},
			{Kind: wire.Sequence, Size: 1},
			{Kind: wire.Integer, Size: 2, Signed: true, Channel: "yaw_rate", Scale: 0.001, Exact: true},
			{Kind: wire.CRC8, Poly: 7, From: 2},
		},
	}, &noise, 0)
	if err != nil {
		fmt.Println(err)
		return
	}
	fmt.Println("carries", e.Channels())
	for _, yaw := range []float64{0, 0.5, -0.5} {
		at := e.Next()
		fmt.Printf("%v: % X\n", at, e.Build(nil, []float64{yaw}))
	}
	// Output:
	// carries [yaw_rate]
	// 0 s: A5 5A 00 00 00 00
	// 0.005 s: A5 5A 01 01 F4 BC
	// 0.01 s: A5 5A 02 FE 0C 30
}
