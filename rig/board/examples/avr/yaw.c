#include "yaw.h"

#define JUMP (250 * 16)
#define AGREE (100 * 16)

static uint8_t crc8(const uint8_t *data, uint8_t length) {
	uint8_t crc = 0;
	for (; length > 0; length--, data++) {
		crc ^= *data;
		for (uint8_t bit = 0; bit < 8; bit++) {
			crc = crc & 0x80 ? crc << 1 ^ 0x07 : crc << 1;
		}
	}
	return crc;
}

static bool within(int16_t a, int16_t b, int16_t most) {
	int32_t d = (int32_t)a - b;
	return d <= most && d >= -most;
}

bool yaw_byte(struct yaw_parser *p, uint8_t byte, int16_t *rate) {
	switch (p->place) {
	case 0:
		p->place = byte == 0xA5;
		return false;
	case 1:
		p->place = byte == 0x5A ? 2 : byte == 0xA5;
		return false;
	}
	p->body[p->place - 2] = byte;
	if (++p->place < 2 + sizeof p->body) {
		return false;
	}
	p->place = 0;
	if (crc8(p->body, 3) != p->body[3]) {
		return false;
	}
	int16_t said = (int16_t)((uint16_t)p->body[1] << 8 | p->body[2]);
	if (!within(said, p->believed, JUMP) && !(p->doubts && within(said, p->doubted, AGREE))) {
		p->doubts = true;
		p->doubted = said;
		*rate = p->believed; // the frame is good, the rate is not believed yet
		return true;
	}
	p->doubts = false;
	p->believed = *rate = said;
	return true;
}
