/* The plain configuration of the model: the algorithm of package plant, operation
   by operation. */
#include "portable.h"

enum { VX, VY, YAW, HEADING, X, Y, WHEEL, SIZE = WHEEL + 4 };

#define SLIP_FLOOR 0.2
#define STEP_BOUND 1.5
#define MOST_PARTS 256

/* In the order in which they are read. */
struct constants {
	double mass, per_mass, per_yaw_inertia, front_axle, rear_axle, half_front, half_rear;
	double radius, per_wheel_inertia, bx, cx, ex, by, cy, ey, mux, muy;
	double per_peak_x, per_peak_y, curved, sensitivity, per_load;
	double static_front, static_rear, lift_front, lift_rear, drag;
	double pitch, roll_front, roll_rear, stiffness;
};

struct contact {
	double wx[4], wy[4], sx[4], sy[4], gx[4], gy[4], load[4], ax, ay;
};

struct model {
	struct constants k;
	double now[SIZE];
	double steer, torque[4];
	double sin, cos; /* of the steer */
	struct contact force;
	double mf[8];
};

static void slips(struct model *m, const double s[SIZE])
{
	const struct constants *k = &m->k;
	struct contact *f = &m->force;
	double *mf = m->mf, nx[4], ny[4], n[4];
	for (int i = 0; i < 4; i++) {
		double rim = k->radius * s[WHEEL + i], speed = fabs(rim);
		if (speed < SLIP_FLOOR)
			speed = SLIP_FLOOR;
		double per = 1 / speed;
		double sx = (rim - f->wx[i]) * per, sy = f->wy[i] * per;
		f->sx[i] = sx;
		f->sy[i] = sy;
		sx *= k->per_peak_x;
		sy *= k->per_peak_y;
		double r = sqrt(sx * sx + sy * sy);
		nx[i] = sx;
		ny[i] = sy;
		n[i] = r;
		mf[i] = k->bx * r;
		mf[4 + i] = k->by * r;
	}
	if (k->curved != 0) {
		double a[8];
		memcpy(a, mf, sizeof a);
		atan8(a);
		for (int i = 0; i < 4; i++) {
			mf[i] -= k->ex * (mf[i] - a[i]);
			mf[4 + i] -= k->ey * (mf[4 + i] - a[4 + i]);
		}
	}
	atan8(mf);
	for (int i = 0; i < 4; i++) {
		mf[i] *= k->cx;
		mf[4 + i] *= k->cy;
	}
	sin8(mf);
	for (int i = 0; i < 4; i++) {
		if (n[i] < 1e-100) {
			f->gx[i] = f->gy[i] = 0;
			continue;
		}
		double per = 1 / n[i];
		f->gx[i] = k->mux * mf[i] * (nx[i] * per);
		f->gy[i] = -k->muy * mf[4 + i] * (ny[i] * per);
	}
}

static void balance(struct model *m, double vx, const double hx[4], const double hy[4], double p[4])
{
	const struct constants *k = &m->k;
	struct contact *f = &m->force;
	double q = vx * vx, drag = k->drag * vx * fabs(vx);
	double front = k->static_front + q * k->lift_front, rear = k->static_rear + q * k->lift_rear;
	double base[4] = {front, front, rear, rear};
	double cx[4] = {-k->pitch, -k->pitch, k->pitch, k->pitch};
	double cy[4] = {-k->roll_front, k->roll_front, -k->roll_rear, k->roll_rear};
	double ax = f->ax, ay = f->ay, slopes[4], dx = 0, dy = 0;
	for (int n = 0; n < 40; n++) {
		double rx = -drag - k->mass * ax, ry = -(k->mass * ay);
		double xx = k->mass, yy = k->mass, xy = 0, yx = 0;
		for (int i = 0; i < 4; i++) {
			double load = base[i] + cx[i] * ax + cy[i] * ay;
			double grip = 1 + k->sensitivity - k->per_load * load;
			double slope = grip - k->per_load * load;
			if (load <= 0)
				load = slope = 0;
			if (grip <= 0)
				grip = slope = 0;
			f->load[i] = load;
			slopes[i] = slope;
			load *= grip;
			p[i] = load;
			rx += load * hx[i];
			ry += load * hy[i];
			double sx = slope * hx[i], sy = slope * hy[i];
			xx -= sx * cx[i];
			xy -= sx * cy[i];
			yx -= sy * cx[i];
			yy -= sy * cy[i];
		}
		double det = xx * yy - xy * yx;
		dx = (rx * yy - ry * xy) / det;
		dy = (ry * xx - rx * yx) / det;
		if (n >= 10 || !(det > 0)) {
			dx = rx * k->per_mass / 2;
			dy = ry * k->per_mass / 2;
		}
		ax += dx;
		ay += dy;
		if (fabs(dx) + fabs(dy) < 1e-9)
			break;
	}
	for (int i = 0; i < 4; i++) {
		double d = cx[i] * dx + cy[i] * dy;
		if (f->load[i] > 0)
			f->load[i] = fmax(0, f->load[i] + d);
		p[i] += slopes[i] * d;
	}
	f->ax = ax;
	f->ay = ay;
}

static void rates(struct model *m, const double s[SIZE], double d[SIZE])
{
	const struct constants *k = &m->k;
	struct contact *f = &m->force;
	double vx = s[VX], vy = s[VY], yaw = s[YAW];
	double uf = yaw * k->half_front, ur = yaw * k->half_rear;
	double vf = vy + yaw * k->front_axle, vr = vy - yaw * k->rear_axle;
	double ul = vx - uf, urt = vx + uf;
	f->wx[0] = ul * m->cos + vf * m->sin;
	f->wx[1] = urt * m->cos + vf * m->sin;
	f->wx[2] = vx - ur;
	f->wx[3] = vx + ur;
	f->wy[0] = vf * m->cos - ul * m->sin;
	f->wy[1] = vf * m->cos - urt * m->sin;
	f->wy[2] = f->wy[3] = vr;
	slips(m, s);

	double hx[4], hy[4], p[4];
	for (int i = 0; i < 2; i++) {
		hx[i] = f->gx[i] * m->cos - f->gy[i] * m->sin;
		hy[i] = f->gx[i] * m->sin + f->gy[i] * m->cos;
	}
	hx[2] = f->gx[2];
	hx[3] = f->gx[3];
	hy[2] = f->gy[2];
	hy[3] = f->gy[3];
	balance(m, vx, hx, hy, p);

	double left = p[0] * hx[0], right = p[1] * hx[1];
	double rear_left = p[2] * hx[2], rear_right = p[3] * hx[3];
	double front = p[0] * hy[0] + p[1] * hy[1], rear = p[2] * hy[2] + p[3] * hy[3];
	double moment = (k->front_axle * front - k->rear_axle * rear) +
		(k->half_front * (right - left) + k->half_rear * (rear_right - rear_left));

	double sin, cos;
	sin_cos(s[HEADING], &sin, &cos);
	d[VX] = f->ax + yaw * vy;
	d[VY] = f->ay - yaw * vx;
	d[YAW] = moment * k->per_yaw_inertia;
	d[HEADING] = yaw;
	d[X] = vx * cos - vy * sin;
	d[Y] = vx * sin + vy * cos;
	for (int i = 0; i < 4; i++)
		d[WHEEL + i] = (m->torque[i] - k->radius * (p[i] * f->gx[i])) * k->per_wheel_inertia;
}

static void runge_kutta(struct model *m, double h)
{
	double k[SIZE], at[SIZE], sum[SIZE], half = h / 2, sixth = h / 6;
	m->force.ax = m->force.ay = 0;
	rates(m, m->now, k);
	for (int i = 0; i < SIZE; i++) {
		sum[i] = k[i];
		at[i] = m->now[i] + half * k[i];
	}
	rates(m, at, k);
	for (int i = 0; i < SIZE; i++) {
		sum[i] += 2 * k[i];
		at[i] = m->now[i] + half * k[i];
	}
	rates(m, at, k);
	for (int i = 0; i < SIZE; i++) {
		sum[i] += 2 * k[i];
		at[i] = m->now[i] + h * k[i];
	}
	rates(m, at, k);
	for (int i = 0; i < SIZE; i++)
		m->now[i] += sixth * (sum[i] + k[i]);
}

static void step(struct model *m, double steer, const double torque[4], double dt)
{
	double slowest = fabs(m->now[WHEEL]);
	for (int i = WHEEL + 1; i < SIZE; i++)
		slowest = fmin(slowest, fabs(m->now[i]));
	double pace = fmax(fmax(m->k.radius * slowest, fabs(m->now[VX])), SLIP_FLOOR);
	double n = ceil(m->k.stiffness * dt / (STEP_BOUND * pace));
	int parts = n < MOST_PARTS ? n < 1 ? 1 : (int)n : MOST_PARTS;
	double h = parts > 1 ? dt / parts : dt;
	m->steer = steer;
	memcpy(m->torque, torque, sizeof m->torque);
	sin_cos(steer, &m->sin, &m->cos);
	while (parts-- > 0)
		runge_kutta(m, h);
}
