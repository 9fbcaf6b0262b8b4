// The same controller on this machine, as a board for hilrig: the control law of the chip, with
// inputs and timers written for virtual time in place of its registers.
#include <inttypes.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "control.h"
#include "yaw.h"

typedef int64_t ns; // of the run

#define US 1000
#define MS 1000000
#define PERIOD (10 * MS)
#define TURN ((MISTAKE == SLOW_LOOP ? 2 : 1) * LOOP_MS * MS)
#define BIT (1000000000 / 115200)
#define COUNTS 96
#define CIRCUMFERENCE (2 * 3.14159265f * 0.054f)
#define NEVER INT64_MAX
#define MOST_LINES 32

static const char *wheels[WHEELS] = {"front_left", "front_right", "rear_left", "rear_right"};

// What a driven line is; a line of an encoder is 2 * wheel, and one more for B.
enum { ENCODERS, STEER = 2 * WHEELS, THROTTLE, GAIN, SERIAL, UNUSED };
static int line[MOST_LINES], motor[WHEELS];
static ns delay, now;

static struct {
	struct control control;
	struct inputs in;
	struct {
		ns rose;
		int16_t us;
		bool high, fresh;
	} pulse[3];
	struct {
		bool a, b;
		int16_t count, counted, mark;
		ns last, since;
		uint8_t still;
		int8_t way; // of the last edges
	} wheel[WHEELS];
	struct yaw_parser parser;
	int16_t rate;
	bool rated, serial, busy;
	ns began; // of the byte
	int bits;
	unsigned byte;
	ns turn, period, fall[WHEELS]; // when each is due
	ns width[WHEELS];
} s;

static void power_up(void) {
	memset(&s, 0, sizeof s);
	s.in = (struct inputs){.steer_us = 1500, .throttle_us = 1000, .gain_us = 1000, .steer_age = 255, .throttle_age = 255, .gain_age = 255, .yaw_age = 255};
	for (int i = 0; i < 3; i++) {
		s.pulse[i].us = i ? 1000 : 1500;
	}
	s.serial = true;
	s.turn = now + delay + TURN;
	s.period = now + delay + PERIOD;
	for (int i = 0; i < WHEELS; i++) {
		s.fall[i] = NEVER;
		s.width[i] = 1000 * US;
	}
}

static uint8_t older(uint8_t age) { return age < 255 ? age + 1 : 255; }

static void take_pulse(int i, int16_t *us, uint8_t *age) {
	*age = s.pulse[i].fresh ? 0 : older(*age);
	*us = s.pulse[i].us;
	s.pulse[i].fresh = false;
}

static void take_wheel(int i, ns at) {
	int16_t steps = s.wheel[i].count - s.wheel[i].counted, far = s.wheel[i].count - s.wheel[i].mark;
	s.in.wheel_age[i] = older(s.in.wheel_age[i]);
	if (steps == 0 || s.wheel[i].last <= s.wheel[i].since) {
		s.wheel[i].still = older(s.wheel[i].still);
		if (s.wheel[i].still > 7) {
			s.in.wheel[i] = 0;
			s.wheel[i].since = at;
		}
		return;
	}
	int way = steps > 0 ? 1 : -1;
	if (way != s.wheel[i].way) {
		s.in.wheel[i] = 0; // it turned round: the last edge may have come twice
		s.wheel[i].way = way;
	} else if (s.wheel[i].still <= 7) {
		s.in.wheel[i] = steps * (CIRCUMFERENCE / COUNTS * 1e9f) / (s.wheel[i].last - s.wheel[i].since);
	}
	if (far > 3 || far < -3) {
		s.wheel[i].mark = s.wheel[i].count;
		s.in.wheel_age[i] = 0;
	}
	s.wheel[i].still = 0;
	s.wheel[i].counted = s.wheel[i].count;
	s.wheel[i].since = s.wheel[i].last;
}

static void turn(ns at) {
	float command[WHEELS];
	take_pulse(0, &s.in.steer_us, &s.in.steer_age);
	take_pulse(1, &s.in.throttle_us, &s.in.throttle_age);
	take_pulse(2, &s.in.gain_us, &s.in.gain_age);
	s.in.yaw_age = s.rated ? 0 : older(s.in.yaw_age);
	s.in.yaw_same_age = s.rate != s.in.yaw_sixteenths ? 0 : older(s.in.yaw_same_age);
	s.in.yaw_sixteenths = s.rate;
	s.rated = false;
	for (int i = 0; i < WHEELS; i++) {
		take_wheel(i, at);
	}
	control_turn(&s.control, &s.in, command);
	for (int i = 0; i < WHEELS; i++) {
		s.width[MISTAKE == LEFT_RIGHT ? i ^ 1 : i] = (ns)(1000 * US + 1000 * US * command[i]);
	}
}

static void put(ns at, int wheel, int level) { printf("e %" PRId64 " %d %d\n", at, motor[wheel], level); }

// sample takes the serial line's bits, whose middles are due.
static void sample(ns until) {
	while (s.busy && s.began + BIT * (2 * s.bits + 1) / 2 <= until) {
		if (s.bits == 9) {
			s.busy = false;
			if (s.serial && yaw_byte(&s.parser, (uint8_t)s.byte, &s.rate)) {
				s.rated = true;
			}
			return;
		}
		if (s.bits > 0) {
			s.byte |= (unsigned)s.serial << (s.bits - 1);
		} else if (s.serial) {
			s.busy = false;
			return;
		}
		s.bits++;
	}
}

// run does what is due until a time, in order of time.
static void run(ns until) {
	for (;;) {
		ns next = s.turn < s.period ? s.turn : s.period;
		for (int i = 0; i < WHEELS; i++) {
			next = s.fall[i] < next ? s.fall[i] : next;
		}
		sample(next < until ? next : until);
		if (next > until) {
			return;
		}
		for (int i = 0; i < WHEELS; i++) {
			if (s.fall[i] == next) {
				put(next, i, 0);
				s.fall[i] = NEVER;
			}
		}
		if (s.turn == next) {
			turn(next);
			s.turn += TURN;
		}
		if (s.period == next) {
			for (int i = 0; i < WHEELS; i++) {
				put(next, i, 1);
				s.fall[i] = next + s.width[i];
			}
			s.period += PERIOD;
		}
	}
}

static void quadrature(int i, bool is_b, bool high, ns at) {
	bool other = is_b ? s.wheel[i].a : s.wheel[i].b;
	s.wheel[i].count += (high == other) == is_b ? 1 : -1;
	s.wheel[i].last = at;
	*(is_b ? &s.wheel[i].b : &s.wheel[i].a) = high;
}

static void edge(ns at, int place, bool high) {
	run(at);
	int l = line[place];
	if (l < STEER) {
		quadrature(l / 2, l % 2, high, at);
	} else if (l < SERIAL) {
		int i = l - STEER;
		if (!high && s.pulse[i].high && at - s.pulse[i].rose >= 800 * US && at - s.pulse[i].rose <= 2200 * US) {
			s.pulse[i].us = (int16_t)((at - s.pulse[i].rose) / US);
			s.pulse[i].fresh = true;
		}
		s.pulse[i].high = high;
		s.pulse[i].rose = at;
	} else if (l == SERIAL) {
		s.serial = high;
		if (!s.busy && !high) {
			s.busy = true;
			s.began = at;
			s.bits = 0;
			s.byte = 0;
		}
	}
}

static int driven(const char *name) {
	static const char *others[] = {"steer", "throttle", "gain", "yaw_serial"};
	for (int i = 0; i < 4; i++) {
		if (!strcmp(name, others[i])) {
			return STEER + i;
		}
	}
	for (int i = 0; i < WHEELS; i++) {
		size_t n = strlen(wheels[i]);
		if (!strncmp(name, wheels[i], n) && (!strcmp(name + n, "_a") || !strcmp(name + n, "_b"))) {
			return 2 * i + (name[n + 1] == 'b');
		}
	}
	return UNUSED;
}

int main(int argc, char **argv) {
	delay = argc > 1 ? (ns)(strtoull(argv[1], NULL, 10) % 4000000) : 0;
	char text[4096];
	while (fgets(text, sizeof text, stdin)) {
		ns at;
		int place, high;
		char *name = strtok(text, " \n");
		if (!name) {
			continue;
		}
		char *rest = strtok(NULL, "");
		if (!strcmp(name, "e") && rest && sscanf(rest, "%" SCNd64 " %d %d", &at, &place, &high) == 3) {
			edge(at, place, high);
		} else if (!strcmp(name, "to") && rest && sscanf(rest, "%" SCNd64, &at) == 1) {
			run(at);
			now = at;
			printf("at %" PRId64 "\n", at);
			fflush(stdout);
		} else if (!strcmp(name, "drive")) {
			place = 0;
			for (name = strtok(rest, " \n"); name && place < MOST_LINES; name = strtok(NULL, " \n")) {
				line[place++] = driven(name);
			}
		} else if (!strcmp(name, "capture")) {
			place = 0;
			for (name = strtok(rest, " \n"); name; name = strtok(NULL, " \n"), place++) {
				for (int i = 0; i < WHEELS; i++) {
					if (!strncmp(name, "motor_", 6) && !strcmp(name + 6, wheels[i])) {
						motor[i] = place;
					}
				}
			}
		} else if (!strcmp(name, "end")) {
			return 0;
		}
		if (!strcmp(text, "capture") || !strcmp(text, "restart")) {
			power_up();
			printf("ready example controller\n");
			fflush(stdout);
		}
	}
	return 0;
}
