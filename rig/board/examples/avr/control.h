// The control law of an example controller: four motors, torque shifted between them by how the
// car's yaw rate differs from what the driver asks for. It touches no register, so that the same
// code runs on the microcontroller and on a desk.
//
// Units: us for pulses, m/s, rad/s, rad; positive to the left (ISO 8855); motors are shares 0 to 1.
#ifndef CONTROL_H
#define CONTROL_H

#include <stdbool.h>
#include <stdint.h>

enum { FRONT_LEFT, FRONT_RIGHT, REAR_LEFT, REAR_RIGHT, WHEELS };

#define LOOP_MS 4 // a turn of the loop

// What the inputs last said. Ages count turns of the loop and stop at 255.
struct inputs {
	int16_t steer_us, throttle_us, gain_us;
	uint8_t steer_age, throttle_age, gain_age, yaw_age, yaw_same_age;
	int16_t yaw_sixteenths; // deg/s / 16
	float wheel[WHEELS];    // m/s
	uint8_t wheel_age[WHEELS];
};

// What the loop remembers.
struct control {
	bool started; // all inputs were seen since power-up
	uint8_t fast_age[WHEELS]; // for how many turns the other three wheels have been turning
};

// control_turn is one turn of the loop: it works the four commands out.
void control_turn(struct control *c, const struct inputs *in, float command[WHEELS]);

// One mistake may be built in, by -DMISTAKE=NAME, for suites to find.
enum {
	NONE,
	YAW_SIGN,      // the yaw rate is taken with the wrong sign
	LEFT_RIGHT,    // the motors of the two sides are exchanged
	NO_CAP,        // the cap in turns is missing
	UNDERFLOW,     // a command below zero becomes a large one
	STEER_BYTE,    // the steering pulse's distance from its centre is kept in eight bits
	SLOW_LOOP,     // a turn takes 8 ms
	THROTTLE_HELD, // the last throttle is held when the receiver falls silent
	YAW_HELD,      // the last yaw rate is held when the sensor falls silent
};
#ifndef MISTAKE
#define MISTAKE NONE
#endif

#endif
