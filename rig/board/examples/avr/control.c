#include "control.h"

#define RAD_PER_DEGREE 0.017453293f

// Constants of the car and of its owner's policy, as in car.yaml.
#define WHEELBASE 0.330f         // m
#define UNDERSTEER 0.0028f       // rad/(m/s2)
#define STEER_PER_US (30 * RAD_PER_DEGREE / 500)
#define SHIFT_PER_ERROR (0.08f / (60 * RAD_PER_DEGREE) / 0.5f) // at full gain, per rad/s
#define CAP 0.92f
#define CAP_ABOVE (2 * RAD_PER_DEGREE)
#define STANDSTILL 0.5f          // m/s
#define ENCODER_OTHERS 1.0f      // m/s
#define LOST (100 / LOOP_MS)     // turns without a good pulse
#define YAW_LOST (60 / LOOP_MS)
#define ENCODER_LOST (50 / LOOP_MS)

static float absolute(float x) { return x < 0 ? -x : x; }

static float share(int16_t us) {
	float s = (us - 1000) / 1000.0f;
	return s < 0 ? 0 : s > 1 ? 1 : s;
}

// A wheel is lost that has not got on for a while, during all of which the others were turning.
static bool encoder_lost(struct control *c, const struct inputs *in) {
	bool lost = false;
	float sum = 0;
	for (uint8_t i = 0; i < WHEELS; i++) {
		sum += absolute(in->wheel[i]);
	}
	for (uint8_t i = 0; i < WHEELS; i++) {
		bool fast = (sum - absolute(in->wheel[i])) / 3 > ENCODER_OTHERS;
		if (!fast) {
			c->fast_age[i] = 0;
		} else if (c->fast_age[i] < 255) {
			c->fast_age[i]++;
		}
		lost = lost || (c->fast_age[i] > ENCODER_LOST && in->wheel_age[i] > ENCODER_LOST);
	}
	return lost;
}

void control_turn(struct control *c, const struct inputs *in, float command[WHEELS]) {
	bool wheel_lost = encoder_lost(c, in);
	for (uint8_t i = 0; i < WHEELS; i++) {
		command[i] = 0;
	}
	if (!c->started) {
		c->started = in->throttle_age <= LOST && in->steer_age <= LOST && in->gain_age <= LOST && in->yaw_age <= YAW_LOST;
		if (!c->started) {
			return;
		}
	}
	if (in->throttle_age > LOST && MISTAKE != THROTTLE_HELD) {
		return; // idle
	}

	int16_t off = in->steer_us - 1500;
	if (MISTAKE == STEER_BYTE) {
		off = (int8_t)off;
	}
	float steer = off >= -2 && off <= 2 ? 0 : off * STEER_PER_US;
	float speed = (in->wheel[0] + in->wheel[1] + in->wheel[2] + in->wheel[3]) / 4;
	float yaw = in->yaw_sixteenths * (RAD_PER_DEGREE / 16);
	if (MISTAKE == YAW_SIGN) {
		yaw = -yaw;
	}
	float limit = absolute(steer) > CAP_ABOVE && MISTAKE != NO_CAP ? CAP : 1;
	float base = share(in->throttle_us);
	if (base > limit) {
		base = limit;
	}
	for (uint8_t i = 0; i < WHEELS; i++) {
		command[i] = base;
	}

	bool yaw_lost = (in->yaw_age > YAW_LOST || in->yaw_same_age > YAW_LOST) && MISTAKE != YAW_HELD;
	if (in->steer_age > LOST || in->gain_age > LOST || yaw_lost || wheel_lost || speed < STANDSTILL || steer == 0) {
		return; // no shift
	}
	float demand = speed * steer / (WHEELBASE + UNDERSTEER * speed * speed);
	float error = absolute(demand - yaw);
	bool understeer = demand * yaw >= 0 && absolute(yaw) < absolute(demand); // opposite lock is taken as oversteer
	float shift = error * SHIFT_PER_ERROR * share(in->gain_us);
	uint8_t outside_front = steer > 0 ? FRONT_RIGHT : FRONT_LEFT, outside_rear = steer > 0 ? REAR_RIGHT : REAR_LEFT;
	uint8_t inside_front = steer > 0 ? FRONT_LEFT : FRONT_RIGHT;
	uint8_t raised = understeer ? outside_rear : outside_front, lowered = understeer ? inside_front : outside_rear;
	command[raised] += shift;
	command[lowered] -= shift;
	if (MISTAKE == UNDERFLOW && command[lowered] < 0) {
		command[lowered] = (uint16_t)(int16_t)(command[lowered] * 1000) / 1000.0f;
	}
	if (command[raised] > limit) {
		command[raised] = limit;
	}
	if (command[lowered] > limit) {
		command[lowered] = limit;
	}
	if (command[lowered] < 0) {
		command[lowered] = 0;
	}
}
