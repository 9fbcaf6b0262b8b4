package signal

import (
	"testing"

	"github.com/stretchr/testify/assert"
)

func TestALineIsFoundByWhatItCarries(t *testing.T) {
	l := Layout{Lines: []LineSpec{{Name: "spare"}, Spec(GainPulse, NoWheel), Spec(EncoderIndex, RearLeft), Spec(Tacho, FrontLeft), Spec(Motor, RearRight)}}
	for _, row := range []struct {
		role  Role
		wheel Wheel
		name  string
		line  Line
		ok    bool
	}{
		{GainPulse, NoWheel, "gain", 1, true},
		{EncoderIndex, RearLeft, "rear_left_index", 2, true},
		{Tacho, FrontLeft, "front_left_tacho", 3, true},
		{Motor, RearRight, "motor_rear_right", 4, true},
		{Motor, RearLeft, "motor_rear_left", 0, false},
		{EncoderA, RearLeft, "rear_left_a", 0, false},
	} {
		assert.Equal(t, row.name, Spec(row.role, row.wheel).Name)
		assert.Equal(t, row.role == Motor, Spec(row.role, row.wheel).Direction == Capture, row.name)
		line, ok := l.Find(row.role, row.wheel)
		assert.Equal(t, row.line, line, row.name)
		assert.Equal(t, row.ok, ok, row.name)
	}
	line, ok := l.Find(OtherRole, NoWheel)
	assert.Zero(t, line)
	assert.True(t, ok, "a line of which nothing is known")
}

func TestTheLinesOfAStand(t *testing.T) {
	want := []LineSpec{
		{Name: "throttle_command", Role: ThrottleCommand},
		{Name: "shaft_a", Role: ShaftA, Direction: Capture},
		{Name: "shaft_b", Role: ShaftB, Direction: Capture},
		{Name: "shaft_tacho", Role: ShaftTacho, Direction: Capture},
		{Name: "cell_clock", Role: CellClock},
		{Name: "cell_data", Role: CellData, Direction: Capture, Idle: true},
		{Name: "esc_telemetry", Role: ESCTelemetry, Direction: Capture, Idle: true},
	}
	var got []LineSpec
	for _, role := range StandRoles() {
		got = append(got, Spec(role, NoWheel))
		assert.True(t, role.Stand(), role)
		assert.False(t, role.WheelSensor() || role.Quadrature() || role.Receiver(), "%v is of a car", role)
	}
	assert.Equal(t, want, got)
	for role := range ThrottleCommand {
		assert.False(t, role.Stand(), "role %d is of a car", role)
	}
}
