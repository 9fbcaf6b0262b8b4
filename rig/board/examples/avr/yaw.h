// The yaw-rate sensor's frames: A5 5A, a count, the rate in 1/16 deg/s as a signed 16-bit number,
// high byte first, and a CRC-8 (polynomial 07) over count and rate.
#ifndef YAW_H
#define YAW_H

#include <stdbool.h>
#include <stdint.h>

struct yaw_parser {
	uint8_t place;
	uint8_t body[4];
	int16_t believed, doubted;
	bool doubts;
};

// yaw_byte takes a byte. It is true when a good frame has ended, whose rate is then in rate. A rate that
// is far from the last one is believed once the next frame agrees with it.
bool yaw_byte(struct yaw_parser *p, uint8_t byte, int16_t *rate);

#endif
