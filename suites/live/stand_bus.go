package live

import (
	"fmt"

	bus "periph.io/x/conn/v3/i2c"

	"hilrig/rig/raspberry/i2c"
	"hilrig/rig/raspberry/realtime"
	"hilrig/rig/signal"
	"hilrig/suites/esc"
	"hilrig/suites/file"
)

// BusOf returns what opens the buses of a stand's converters on I2C and has them read beside the loop, by
// a goroutine for each register; nil where it has no such converter.
func BusOf(s *file.Stand) func() (esc.BusReader, error) {
	return busOf(s, i2c.Open, realtime.System{})
}

func busOf(s *file.Stand, open func(path string) (bus.BusCloser, error), clock realtime.Clock) func() (esc.BusReader, error) {
	if len(s.Bus) == 0 {
		return nil
	}
	return func() (esc.BusReader, error) {
		t := &busReader{buses: map[string]bus.BusCloser{}}
		for i := range s.Bus {
			if err := t.start(&s.Bus[i], open, clock); err != nil {
				t.Close()
				return nil, fmt.Errorf("%s: bus_sensor: %w", s.Source.Path, err)
			}
		}
		return t, nil
	}
}

// busReader takes what the readers of a stand's registers have read.
type busReader struct {
	buses   map[string]bus.BusCloser // by path
	readers []*i2c.Reader            // by sensor
	read    []i2c.Reading
}

// start has one register read. One that does not answer at all is an error: nothing is played for it.
func (t *busReader) start(b *file.BusSensor, open func(path string) (bus.BusCloser, error), clock realtime.Clock) (err error) {
	on := t.buses[b.Device]
	if on == nil {
		if on, err = open(b.Device); err != nil {
			return err
		}
		t.buses[b.Device] = on
	}
	register := registerOf(b)
	if err := register.Check(); err != nil {
		return err
	}
	if _, err := register.Read(on); err != nil {
		return err
	}
	r, err := i2c.Start(on, i2c.Settings{Registers: []i2c.Register{register}, Every: signal.FromSeconds(1 / b.Rate), Clock: clock})
	if err == nil {
		t.readers = append(t.readers, r)
	}
	return err
}

// registerOf returns the register that a stand file declares.
func registerOf(b *file.BusSensor) i2c.Register {
	r := i2c.Register{
		Address: uint16(b.Address), Number: uint8(b.Register), Width: b.Width, LowFirst: b.LittleEndian,
		Signed: b.Signed, Shift: b.Shift, Scale: b.Scale, Offset: b.Offset,
	}
	if b.Quantity == file.BusVoltage {
		r.Quantity = i2c.Voltage
	}
	return r
}

// AppendNew appends what was read since the last call. It does not wait for a bus.
func (t *busReader) AppendNew(dst []esc.BusReading) []esc.BusReading {
	for i, r := range t.readers {
		t.read = r.AppendNew(t.read[:0])
		for _, one := range t.read {
			dst = append(dst, esc.BusReading{Sensor: i, Value: one.Value, AtItsEnd: one.AtItsEnd, Same: one.Same, Err: one.Err})
		}
	}
	return dst
}

// Close ends the reading and gives the buses back.
func (t *busReader) Close() {
	for _, r := range t.readers {
		r.Close()
	}
	for path, on := range t.buses {
		_ = on.Close() // what was read is taken, and nobody needs the bus any more
		delete(t.buses, path)
	}
}
