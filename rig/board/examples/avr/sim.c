// Runs an image of the example controller on an emulated ATmega2560 (libsimavr) as a board for
// hilrig: sim IMAGE.elf [SEED]. The seed is when the chip starts within a turn of its loop.
//
// Levels go to pins and come from pins at their cycle; the yaw-rate sensor's serial line is sampled
// here, as its receiver would, and its bytes go to the emulated USART, which takes bytes.
#include <inttypes.h>
#include <stdbool.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

#include <simavr/avr_extint.h>
#include <simavr/avr_ioport.h>
#include <simavr/avr_uart.h>
#include <simavr/sim_avr.h>
#include <simavr/sim_elf.h>

#define MHZ 16
#define MOST_LINES 32
#define MOST_EDGES 4096
#define BIT_NS (1000000000 / 115200)
#define LOOK_NS 1000000

typedef int64_t ns; // of the run

struct pin {
	const char *name, port;
	int bit;
};

static const struct pin inputs[] = {
	{"steer", 'E', 7}, {"throttle", 'L', 0}, {"gain", 'L', 1},
	{"front_left_a", 'B', 0}, {"front_left_b", 'B', 1}, {"front_right_a", 'B', 2}, {"front_right_b", 'B', 3},
	{"rear_left_a", 'B', 4}, {"rear_left_b", 'B', 5}, {"rear_right_a", 'B', 6}, {"rear_right_b", 'B', 7},
};
static const struct pin outputs[] = {
	{"motor_front_left", 'A', 0}, {"motor_front_right", 'A', 1}, {"motor_rear_left", 'A', 2}, {"motor_rear_right", 'A', 3},
};
#define COUNT(a) (sizeof(a) / sizeof(a)[0])

static FILE *rig; // what the rig reads; libsimavr writes to standard output, which is standard error here
static avr_t *avr;
static elf_firmware_t image;
static ns now;                          // when the chip was looked at last
static ns started;                      // when it was switched on
static const struct pin *driven[MOST_LINES]; // by place in the drive list; NULL: not looked at
static bool level[MOST_LINES];
static int serial = -1;                 // place of the serial line
static int captured[COUNT(outputs)];    // place of each output in the capture list

static struct edge {
	ns at;
	int place, level;
} out[MOST_EDGES];
static int outs;

static ns time_of(avr_cycle_count_t cycle) { return started + (ns)(cycle * 1000 / MHZ); }

static void changed(struct avr_irq_t *irq, uint32_t value, void *param) {
	(void)irq;
	ns at = time_of(avr->cycle);
	if (outs < MOST_EDGES) {
		out[outs++] = (struct edge){at < now ? now : at, *(int *)param, value != 0}; // a cycle is no whole number of ns
	}
}

// The chip is awake again from the end of a step on, until it was looked at.
static avr_cycle_count_t stay_awake(avr_t *a, avr_cycle_count_t when, void *param) {
	(void)a, (void)param;
	return when + 1;
}

// A sleeping chip goes on at once with what is due next.
static void no_sleep(avr_t *a, avr_cycle_count_t cycles) { (void)a, (void)cycles; }

static avr_irq_t *pin_irq(const struct pin *p) { return avr_io_getirq(avr, AVR_IOCTL_IOPORT_GETIRQ(p->port), p->bit); }

static avr_irq_t *input_irq[MOST_LINES], *uart_irq; // looked up once, for looking up is slow

static void power_up(ns delay) {
	if (avr) {
		avr_terminate(avr);
		free(avr);
	}
	avr = avr_make_mcu_by_name("atmega2560");
	if (!avr) {
		fprintf(stderr, "sim: this libsimavr has no atmega2560\n");
		exit(1);
	}
	avr_init(avr);
	avr->frequency = MHZ * 1000000;
	avr->log = LOG_ERROR;
	avr->sleep = no_sleep;
	avr->run_cycle_limit = MHZ * 1000; // instructions go on together until something is due
	avr_load_firmware(avr, &image);
	uint32_t flags = 0;
	avr_ioctl(avr, AVR_IOCTL_UART_GET_FLAGS('1'), &flags);
	flags &= ~(uint32_t)(AVR_UART_FLAG_STDIO | AVR_UART_FLAG_POLL_SLEEP);
	avr_ioctl(avr, AVR_IOCTL_UART_SET_FLAGS('1'), &flags);
	for (uint8_t i = 0; i < 8; i++) {
		avr_extint_set_strict_lvl_trig(avr, i, 0); // nobody uses them, and to poll their levels takes most of the time
	}
	started = now + delay;
	for (size_t i = 0; i < COUNT(outputs); i++) {
		avr_irq_register_notify(pin_irq(&outputs[i]), changed, &captured[i]);
	}
	uart_irq = avr_io_getirq(avr, AVR_IOCTL_UART_GETIRQ('1'), UART_IRQ_INPUT);
	for (int i = 0; i < MOST_LINES; i++) {
		if (driven[i]) {
			input_irq[i] = pin_irq(driven[i]);
			avr_raise_irq(input_irq[i], level[i]);
		}
	}
}

static void run_until(ns until) {
	if (until < started) {
		return; // it is not switched on yet
	}
	avr_cycle_count_t end = (avr_cycle_count_t)(until - started) * MHZ / 1000;
	if (end <= avr->cycle) {
		return;
	}
	avr_cycle_timer_register(avr, end - avr->cycle, stay_awake, NULL);
	while (avr->cycle < end) {
		int state = avr_run(avr);
		if (state == cpu_Done || state == cpu_Crashed) {
			fprintf(stderr, "sim: the chip stopped at %" PRId64 " ns\n", until);
			exit(1);
		}
	}
	avr_cycle_timer_cancel(avr, stay_awake, NULL);
}

// The serial receiver: it samples in the middle of each bit from a start bit on.
static struct {
	bool busy, high;
	ns began;
	int bits;
	unsigned byte;
} uart = {.high = true};

static void sample_until(ns now) {
	while (uart.busy) {
		ns middle = uart.began + BIT_NS * (2 * uart.bits + 1) / 2;
		if (middle > now) {
			return;
		}
		if (uart.bits == 9) {
			uart.busy = false;
			if (uart.high) { // a stop bit
				run_until(middle);
				avr_raise_irq(uart_irq, uart.byte);
			}
			return;
		}
		if (uart.bits > 0) {
			uart.byte |= (unsigned)uart.high << (uart.bits - 1);
		} else if (uart.high) {
			uart.busy = false; // a spike, no start bit
			return;
		}
		uart.bits++;
	}
}

// look_until looks at the chip every millisecond of the run before a time, however long the rig's steps are: a look wakes a
// sleeping chip, which can shift what it does next by a cycle, and is not to depend on the steps.
static void look_until(ns at) {
	for (ns look = now - now % LOOK_NS + LOOK_NS; look < at; look += LOOK_NS) {
		sample_until(look);
		run_until(look);
		now = look;
	}
}

static void apply(ns at, int place, bool high) {
	look_until(at);
	sample_until(at);
	if (place == serial) {
		uart.high = high;
		if (!uart.busy && !high) {
			uart.busy = true;
			uart.began = at;
			uart.bits = 0;
			uart.byte = 0;
		}
		return;
	}
	level[place] = high;
	run_until(at);
	if (driven[place]) {
		avr_raise_irq(input_irq[place], high);
	}
}

// tell says which edges there were until a time; what the chip did after it, in an instruction that went
// on, comes with the next step.
static void tell(ns until) {
	int told = 0;
	for (; told < outs && out[told].at <= until; told++) {
		fprintf(rig, "e %" PRId64 " %d %d\n", out[told].at, out[told].place, out[told].level);
	}
	memmove(out, out + told, sizeof out[0] * (size_t)(outs - told));
	outs -= told;
	fprintf(rig, "at %" PRId64 "\n", until);
	fflush(rig);
}

static void names(char *list, bool drive) {
	int place = 0;
	for (char *name = strtok(list, " \n"); name; name = strtok(NULL, " \n"), place++) {
		if (place == MOST_LINES) {
			fprintf(stderr, "sim: more than %d lines\n", MOST_LINES);
			exit(1);
		}
		if (drive && !strcmp(name, "yaw_serial")) {
			serial = place;
			continue;
		}
		for (size_t i = 0; drive && i < COUNT(inputs); i++) {
			if (!strcmp(name, inputs[i].name)) {
				driven[place] = &inputs[i];
			}
		}
		for (size_t i = 0; !drive && i < COUNT(outputs); i++) {
			if (!strcmp(name, outputs[i].name)) {
				captured[i] = place;
			}
		}
	}
}

// edge takes a line "e TIME PLACE LEVEL". Scanning functions take too long for the many there are.
static void edge(const char *line) {
	char *rest;
	ns at = strtoll(line + 2, &rest, 10);
	int place = (int)strtol(rest, &rest, 10);
	bool high = strtol(rest, &rest, 10);
	if (*rest != '\n' || place < 0 || place >= MOST_LINES) {
		fprintf(stderr, "sim: no edge: %s", line);
		exit(1);
	}
	apply(at, place, high);
}

int main(int argc, char **argv) {
	rig = fdopen(dup(STDOUT_FILENO), "w");
	dup2(STDERR_FILENO, STDOUT_FILENO);
	if (argc < 2 || elf_read_firmware(argv[1], &image)) {
		fprintf(stderr, "usage: sim IMAGE.elf [SEED]\n");
		return 1;
	}
	ns delay = argc > 2 ? (ns)(strtoull(argv[2], NULL, 10) % 4000000) : 0;
	char line[4096];
	while (fgets(line, sizeof line, stdin)) {
		ns at;
		if (!strncmp(line, "e ", 2)) {
			edge(line);
		} else if (sscanf(line, "to %" SCNd64, &at) == 1) {
			look_until(at);
			sample_until(at);
			run_until(at);
			tell(now = at);
		} else if (!strncmp(line, "drive", 5)) {
			names(line + 5, true);
		} else if (!strncmp(line, "capture", 7)) {
			names(line + 7, false);
			power_up(delay);
			fprintf(rig, "ready example controller, emulated\n");
			fflush(rig);
		} else if (!strncmp(line, "restart", 7)) {
			outs = 0;
			power_up(delay);
			fprintf(rig, "ready example controller, emulated\n");
			fflush(rig);
		} else if (!strncmp(line, "end", 3)) {
			return 0;
		} else if (strncmp(line, "hilrig-board 1", 14)) {
			fprintf(stderr, "sim: not understood: %s", line);
			return 1;
		}
	}
	return 0;
}
