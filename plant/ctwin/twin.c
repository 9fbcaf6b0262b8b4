/* The model's plain configuration in C, to hold the Go against: the same numbers,
   and the time that each takes.

   twin run     steps through the stretches and prints the motion after each step
   twin time N  takes N steps of the first stretch and prints the ns of one

   Standard input: the constants, the motion, then stretches of step count, step
   length, steer and four torques, all as numbers with spaces between. */
#define _POSIX_C_SOURCE 200809L
#include "model.h"

#include <stdio.h>
#include <stdlib.h>
#include <time.h>

static int number(double *x) { return scanf("%la", x) == 1; }

struct stretch {
	double count, dt, steer, torque[4];
};

static int next(struct stretch *s)
{
	if (!number(&s->count) || !number(&s->dt) || !number(&s->steer))
		return 0;
	for (int i = 0; i < 4; i++)
		if (!number(&s->torque[i]))
			return 0;
	return 1;
}

int main(int argc, char **argv)
{
	static struct model m;
	struct stretch s;
	double *k = (double *)&m.k;
	for (size_t i = 0; i < sizeof m.k / sizeof *k; i++)
		if (!number(&k[i]))
			return 2;
	for (int i = 0; i < SIZE; i++)
		if (!number(&m.now[i]))
			return 2;
	if (argc == 2 && strcmp(argv[1], "run") == 0) {
		while (next(&s))
			for (int n = 0; n < (int)s.count; n++) {
				step(&m, s.steer, s.torque, s.dt);
				for (int i = 0; i < SIZE; i++)
					printf("%a%c", m.now[i], i + 1 < SIZE ? ' ' : '\n');
			}
		return 0;
	}
	if (argc != 3 || strcmp(argv[1], "time") != 0 || !next(&s))
		return 2;
	long count = atol(argv[2]);
	double start[SIZE];
	struct timespec a, b;
	memcpy(start, m.now, sizeof start);
	clock_gettime(CLOCK_MONOTONIC, &a);
	for (long n = 0; n < count; n++) {
		step(&m, s.steer, s.torque, s.dt);
		if ((n + 1) % 1000 == 0)
			memcpy(m.now, start, sizeof start);
	}
	clock_gettime(CLOCK_MONOTONIC, &b);
	printf("%.3f %a\n", ((b.tv_sec - a.tv_sec) * 1e9 + (b.tv_nsec - a.tv_nsec)) / count, m.now[VX]);
	return 0;
}
