// An example controller on an 8-bit microcontroller (ATmega2560, 16 MHz).
//
//   PE7  steering pulse     input capture of timer 3        PB0..7  encoders, A and B of each
//   PL0  throttle pulse     input capture of timer 4                wheel, pin-change interrupt
//   PL1  gain pulse         input capture of timer 5        PD2     yaw-rate sensor, USART1
//   PA0..3  motors: front left, front right, rear left, rear right, by compares of timer 1
//
// Wheels stand in that order everywhere. All timers count half microseconds.
#include <avr/interrupt.h>
#include <avr/io.h>
#include <avr/sleep.h>
#include <util/atomic.h>

#include "control.h"
#include "yaw.h"

#define TICKS_PER_US 2
#define PERIOD (10000u * TICKS_PER_US) // of motor pulses
#define TURN ((MISTAKE == SLOW_LOOP ? 2 : 1) * LOOP_MS * 1000u * TICKS_PER_US)
#define COUNTS 96 // edges of an encoder in one turn of the wheel
#define CIRCUMFERENCE (2 * 3.14159265f * 0.054f)

// --- pulses of the receiver, by input capture -------------------------------------------------

struct pulse {
	uint16_t rose;
	int16_t us;
	bool high, fresh;
};
static volatile struct pulse steer, throttle, gain;

static inline void captured(volatile struct pulse *p, uint16_t at, volatile uint8_t *control, uint8_t rising) {
	if (*control & rising) {
		p->rose = at;
		p->high = true;
		*control &= ~rising;
		return;
	}
	uint16_t width = (at - p->rose) / TICKS_PER_US;
	if (p->high && width >= 800 && width <= 2200) {
		p->us = width;
		p->fresh = true;
	}
	p->high = false;
	*control |= rising;
}

ISR(TIMER3_CAPT_vect) { captured(&steer, ICR3, &TCCR3B, _BV(ICES3)); }
ISR(TIMER4_CAPT_vect) { captured(&throttle, ICR4, &TCCR4B, _BV(ICES4)); }
ISR(TIMER5_CAPT_vect) { captured(&gain, ICR5, &TCCR5B, _BV(ICES5)); }

// --- encoders, by pin changes ------------------------------------------------------------------

static volatile struct {
	int16_t count;
	uint16_t last; // when the last edge came
} encoder[WHEELS];

// Steps of a quadrature by old and new levels, B A B A.
static const int8_t step[16] = {0, 1, -1, 0, -1, 0, 0, 1, 1, 0, 0, -1, 0, -1, 1, 0};

static inline void moved(uint8_t i, uint8_t old, uint8_t new, uint8_t changed, uint16_t now) {
	if (changed & 3) {
		encoder[i].count += step[(old & 3) << 2 | (new & 3)];
		encoder[i].last = now;
	}
}

ISR(PCINT0_vect) {
	static uint8_t old;
	uint16_t now = TCNT1;
	uint8_t new = PINB, changed = old ^ new;
	moved(0, old, new, changed, now);
	moved(1, old >> 2, new >> 2, changed >> 2, now);
	moved(2, old >> 4, new >> 4, changed >> 4, now);
	moved(3, old >> 6, new >> 6, changed >> 6, now);
	old = new;
}

// --- yaw-rate sensor ---------------------------------------------------------------------------

static volatile int16_t yaw_rate;
static volatile bool yaw_fresh;

ISR(USART1_RX_vect) {
	static struct yaw_parser parser;
	int16_t rate;
	if (yaw_byte(&parser, UDR1, &rate)) {
		yaw_rate = rate;
		yaw_fresh = true;
	}
}

// --- motors, by compares of timer 1 --------------------------------------------------------------

// The pulses begin together. What the port is to show, and when, is worked out while all are high; the
// compare comes a little before each change and waits the rest of the time, so that no other interrupt
// moves the edge.
#define BEFORE (40 * TICKS_PER_US)
#define MERGED (3 * TICKS_PER_US) // widths that are closer end together
static volatile uint16_t wanted[WHEELS]; // widths in ticks
static struct {
	uint16_t at;
	uint8_t port;
} change[WHEELS + 1]; // the last one begins the next pulses
static uint8_t next, last;

static inline void until(uint16_t time) {
	while ((int16_t)(TCNT1 - time) < 0) {
	}
}

// plan works out the changes that follow on pulses that began at a time.
static void plan(uint16_t began) {
	uint8_t order[WHEELS];
	for (uint8_t i = 0; i < WHEELS; i++) { // by insertion
		uint8_t at = i;
		for (; at > 0 && wanted[order[at - 1]] > wanted[i]; at--) {
			order[at] = order[at - 1];
		}
		order[at] = i;
	}
	uint8_t port = _BV(WHEELS) - 1;
	uint8_t changes = 0;
	for (uint8_t k = 0; k < WHEELS; k++) {
		port &= ~_BV(MISTAKE == LEFT_RIGHT ? order[k] ^ 1 : order[k]);
		if (k + 1 == WHEELS || wanted[order[k + 1]] - wanted[order[k]] > MERGED) {
			change[changes].at = began + wanted[order[k]];
			change[changes++].port = port;
		}
	}
	change[changes].at = began + PERIOD;
	change[changes].port = _BV(WHEELS) - 1;
	last = changes;
	next = 0;
}

ISR(TIMER1_COMPA_vect) {
	do {
		until(change[next].at);
		PORTA = change[next].port;
		if (next == last) {
			plan(change[next].at);
		} else {
			next++;
		}
	} while ((int16_t)(change[next].at - TCNT1) < 2 * BEFORE);
	OCR1A = change[next].at - BEFORE;
}

// --- the loop --------------------------------------------------------------------------------------

static volatile bool due;

ISR(TIMER1_COMPB_vect) {
	OCR1B += TURN;
	due = true;
}

static uint8_t older(uint8_t age) { return age < 255 ? age + 1 : 255; }

static void take_pulse(volatile struct pulse *p, int16_t *us, uint8_t *age) {
	ATOMIC_BLOCK(ATOMIC_FORCEON) {
		*age = p->fresh ? 0 : older(*age);
		*us = p->us;
		p->fresh = false;
	}
}

// Speed is counts over the time from the last edge of the turn before to the last edge of this one.
static void take_wheel(uint8_t i, struct inputs *in) {
	static int16_t counted[WHEELS], mark[WHEELS];
	static uint16_t since[WHEELS];
	static uint8_t still[WHEELS]; // turns without an edge
	static int8_t went[WHEELS];   // the way of the last edges
	uint8_t *got_on = in->wheel_age;
	int16_t count;
	uint16_t last;
	ATOMIC_BLOCK(ATOMIC_FORCEON) {
		count = encoder[i].count;
		last = encoder[i].last;
	}
	int16_t steps = count - counted[i];
	uint16_t ticks = last - since[i];
	got_on[i] = older(got_on[i]);
	if (steps == 0 || ticks == 0) {
		still[i] = older(still[i]);
		if (still[i] > 7) { // 28 ms, less than the timer's 32: it stands
			in->wheel[i] = 0;
			ATOMIC_BLOCK(ATOMIC_FORCEON) { since[i] = TCNT1; }
		}
		return;
	}
	int8_t way = steps > 0 ? 1 : -1;
	if (way != went[i]) { // it turned round: the last edge may have come twice
		in->wheel[i] = 0;
		went[i] = way;
	} else if (still[i] <= 7) { // else the time is no span between edges
		in->wheel[i] = steps * (CIRCUMFERENCE / COUNTS * 1e6f * TICKS_PER_US) / ticks;
	}
	int16_t far = count - mark[i];
	if (far > 3 || far < -3) { // with one line broken the count goes to and fro
		mark[i] = count;
		got_on[i] = 0;
	}
	still[i] = 0;
	counted[i] = count;
	since[i] = last;
}

static void take_inputs(struct inputs *in) {
	take_pulse(&steer, &in->steer_us, &in->steer_age);
	take_pulse(&throttle, &in->throttle_us, &in->throttle_age);
	take_pulse(&gain, &in->gain_us, &in->gain_age);
	int16_t rate;
	bool fresh;
	ATOMIC_BLOCK(ATOMIC_FORCEON) {
		rate = yaw_rate;
		fresh = yaw_fresh;
		yaw_fresh = false;
	}
	in->yaw_age = fresh ? 0 : older(in->yaw_age);
	in->yaw_same_age = rate != in->yaw_sixteenths ? 0 : older(in->yaw_same_age);
	in->yaw_sixteenths = rate;
	for (uint8_t i = 0; i < WHEELS; i++) {
		take_wheel(i, in);
	}
}

static void set_up(void) {
	DDRA = 0x0F;
	TCCR1B = _BV(CS11); // 16 MHz / 8
	TCCR3B = _BV(CS31) | _BV(ICES3);
	TCCR4B = _BV(CS41) | _BV(ICES4);
	TCCR5B = _BV(CS51) | _BV(ICES5);
	TIMSK3 = _BV(ICIE3);
	TIMSK4 = _BV(ICIE4);
	TIMSK5 = _BV(ICIE5);
	PCMSK0 = 0xFF;
	PCICR = _BV(PCIE0);
	UBRR1 = 16; // 115200 Bd with U2X: 117647, 2 % fast
	UCSR1A = _BV(U2X1);
	UCSR1B = _BV(RXCIE1) | _BV(RXEN1);
	for (uint8_t i = 0; i < WHEELS; i++) {
		wanted[i] = 1000 * TICKS_PER_US;
	}
	change[WHEELS].at = TCNT1 + PERIOD;
	change[WHEELS].port = _BV(WHEELS) - 1;
	next = last = WHEELS;
	OCR1A = change[WHEELS].at - BEFORE;
	OCR1B = TCNT1 + TURN;
	TIMSK1 = _BV(OCIE1A) | _BV(OCIE1B);
	set_sleep_mode(SLEEP_MODE_IDLE);
	sei();
}

int main(void) {
	static struct control control;
	static struct inputs in = {.steer_us = 1500, .throttle_us = 1000, .gain_us = 1000, .steer_age = 255, .throttle_age = 255, .gain_age = 255, .yaw_age = 255};
	set_up();
	for (;;) {
		while (!due) {
			sleep_mode();
		}
		due = false;
		float command[WHEELS];
		take_inputs(&in);
		control_turn(&control, &in, command);
		for (uint8_t i = 0; i < WHEELS; i++) {
			uint16_t ticks = (uint16_t)((1000 + 1000 * command[i]) * TICKS_PER_US + 0.5f);
			ATOMIC_BLOCK(ATOMIC_FORCEON) { wanted[i] = ticks; }
		}
	}
}
