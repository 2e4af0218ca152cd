/* The reference ascent in C: classical Runge-Kutta of up to 10 ms (the kernels' algorithm) or
   semi-implicit Euler of 2 ms, one edge, exact deposition. Built by kernel.py with gcc -O3.
   usage: ascent METHOD REPEATS < parameters; prints what it found and the mean seconds of an ascent. */
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <time.h>

#define TICK 1e-4
#define G 9.81
#define CELLS 70000
enum { RISE, DROP, PAUSE };

static double K, TAU, DIAMETER, MU, RADIUS, AFTER, BEND, MASS, BODY, FORCE, DEPTH, LENGTH;
static double NET, BACK, RISE_S, DROP_S, PAUSE_S, GAIN, COLD, PER_SPEED, CELL, LEFT;
static double KTAU, C, RATIO, WEIGHT, FULL, SPAN;
static double field[CELLS + 4];
static int low, high;

typedef struct { double a, p, s0, s1, q, path, power, worn, t0, t1; double viscous, mixing, device, leaves; } Flow;
typedef struct { double y, v, s0, s1, part; } State;

static inline double jerk(double x) {
    if (x <= 0.0 || x >= 1.0) return 0.0;
    double y = x * (1.0 - x);
    return 30.0 * y * y;
}

/* tension below the edge as constant + slope * x */
static inline void piece(double x, double b, double take, int rising, double *constant, double *slope) {
    double c = b * take, s = 1.0;
    if (rising) {
        if (x >= FULL) c = 0.0;
        else if (x + c > WEIGHT) { s = 1.0 / (1.0 + c / SPAN); c = c * FULL / SPAN * s; }
    }
    if (c + s * x < 0.0) { c = 0.0; s = 0.0; }
    *constant = c;
    *slope = s;
}

static inline void flow(int phase, const State *z, double time, double rate, double duration, Flow *f) {
    int rising = phase == RISE;
    double take = rate * jerk((rising ? z->part : time) / duration);
    double i0 = 1.0 / z->s0, i1 = 1.0 / (z->s1 + C);
    double e0 = (AFTER - z->s0) * i0, e1 = (z->y - z->s1) * i1;
    double a0 = K * e0, b0 = KTAU * (1.0 + e0) * i0;
    double a1 = K * e1 + KTAU * z->v * i1, b1 = KTAU * (1.0 + e1) * i1;
    double q = 0.0, t0 = a0, t1 = 0.0;
    for (int pass = 0; pass < 20; pass++) {
        double c, s, above = fmax(a0 + b0 * q, 0.0);
        piece(a1 - b1 * q, b1, take, rising, &c, &s);
        double below = fmax(c + s * (a1 - b1 * q), 0.0);
        double bs = s * b1, as = c + s * a1, next = 0.0;
        double up = q * (RATIO * b0 + bs) - (RATIO * above - below);
        double down = q * (b0 + RATIO * bs) - (above - RATIO * below);
        double tolerance = 1e-12 * (1.0 + above + below);
        t0 = above;
        t1 = below;
        if (up > tolerance) next = (as - RATIO * a0) / (RATIO * b0 + bs);
        else if (down < -tolerance) next = (RATIO * as - a0) / (b0 + RATIO * bs);
        if (fabs(next - q) <= 1e-12 * (1e-3 + fabs(next))) break;
        q = next;
    }
    double share = fmin(fmax((FULL - t1) / SPAN, 0.0), 1.0);
    double drawn = rising ? take * share : take;
    double mean = 0.5 * (e0 + e1), speed = (1.0 + mean) * fabs(q), power = fabs(t1 - t0) * speed;
    double c1 = q - drawn;
    f->a = G - t1 / MASS;
    f->p = rising ? share : 0.0;
    f->s0 = -q;
    f->s1 = c1;
    f->q = q;
    f->path = speed;
    f->power = power;
    f->worn = power * fmax(t0, t1) * GAIN * (COLD + speed * PER_SPEED);
    f->t0 = t0;
    f->t1 = t1;
    f->viscous = (t0 - K * e0) * (1.0 + e0) * q + (t1 - K * e1) * (z->v - (1.0 + e1) * c1);
    f->mixing = (0.5 * (t0 + t1) - K * mean) * (e1 - e0) * q;
    f->device = t1 * (1.0 + e1) * drawn;
    f->leaves = 0.5 * K * e1 * e1 * drawn;
}

static inline void ramp(double at, double slope) {
    int cell = (int)at;
    double f = at - cell, g = 1.0 - f;
    field[cell] += slope * 0.5 * g * g;
    field[cell + 1] += slope * (0.5 + f * g);
    field[cell + 2] += slope * 0.5 * f * f;
}

static void deposit(double start, double end, double amount) {
    double window = fmax(RADIUS * BEND, DIAMETER) / CELL;
    double first = (start - LEFT) / CELL, last = (end - LEFT) / CELL;
    double travel = fmax(fabs(last - first), 1e-3), left = fmin(first, last) - 0.5 * window;
    double slope = amount / (window * travel * CELL), right = left + travel + window;
    ramp(left, slope);
    ramp(left + fmin(window, travel), -slope);
    ramp(left + fmax(window, travel), -slope);
    ramp(right, slope);
    if ((int)left < low) low = (int)left;
    if ((int)right + 2 > high) high = (int)right + 2;
}

typedef struct { double slip, energy, worn, peak, viscous, mixing, device, leaves, low, high, travel; long steps, ticks; } Sums;

static inline void add(Flow *sum, const Flow *f, double w) {
    sum->a += w * f->a; sum->p += w * f->p; sum->s0 += w * f->s0; sum->s1 += w * f->s1;
    sum->q += w * f->q; sum->path += w * f->path; sum->power += w * f->power; sum->worn += w * f->worn;
    sum->viscous += w * f->viscous; sum->mixing += w * f->mixing;
    sum->device += w * f->device; sum->leaves += w * f->leaves;
}

static inline State stage(const State *z, double v, const Flow *f, double h) {
    State n = { z->y + h * v, z->v + h * f->a, z->s0 + h * f->s0, z->s1 + h * f->s1, z->part + h * f->p };
    return n;
}

static State kutta(int phase, const State *z, double time, double h, double rate, double duration,
                   Flow *sum, double *peak) {
    Flow f;
    State n = *z;
    double speeds = 0.0, v;
    memset(sum, 0, sizeof *sum);
    flow(phase, &n, time, rate, duration, &f);
    *peak = fmax(f.t0, f.t1);
    add(sum, &f, h / 6.0); speeds += n.v; v = n.v;
    n = stage(z, v, &f, 0.5 * h);
    flow(phase, &n, time + 0.5 * h, rate, duration, &f);
    add(sum, &f, h / 3.0); speeds += 2.0 * n.v; v = n.v;
    n = stage(z, v, &f, 0.5 * h);
    flow(phase, &n, time + 0.5 * h, rate, duration, &f);
    *peak = fmax(*peak, fmax(f.t0, f.t1));
    add(sum, &f, h / 3.0); speeds += 2.0 * n.v; v = n.v;
    n = stage(z, v, &f, h);
    flow(phase, &n, time + h, rate, duration, &f);
    add(sum, &f, h / 6.0); speeds += n.v;
    State end = { z->y + h / 6.0 * speeds, z->v + sum->a, z->s0 + sum->s0, z->s1 + sum->s1, z->part + sum->p };
    return end;
}

static State euler(int phase, const State *z, double time, double h, double rate, double duration,
                   Flow *sum, double *peak) {
    Flow f;
    memset(sum, 0, sizeof *sum);
    flow(phase, z, time, rate, duration, &f);
    *peak = fmax(f.t0, f.t1);
    add(sum, &f, h);
    State end = { 0.0, z->v + sum->a, z->s0 + sum->s0, z->s1 + sum->s1, z->part + sum->p };
    end.y = z->y + h * end.v;
    return end;
}

static void climb(int method, State *out, Sums *t) {
    double e0 = WEIGHT / RATIO / K, e1 = WEIGHT / K, gained = 0.0;
    State z = { DEPTH, 0.0, AFTER / (1.0 + e0), (DEPTH - C * e1) / (1.0 + e1), 0.0 };
    memset(t, 0, sizeof *t);
    t->peak = WEIGHT;
    low = CELLS; high = -1;
    while (LENGTH - gained > 1e-9) {
        double net = fmin(NET, LENGTH - gained);
        for (int phase = RISE; phase <= PAUSE; phase++) {
            double seconds = phase == RISE ? RISE_S : phase == DROP ? DROP_S : PAUSE_S;
            double length = phase == RISE ? net + BACK : phase == DROP ? -BACK : 0.0;
            long ticks = (long)floor(seconds / TICK + 0.5), begun = 0;
            double duration = phase == RISE ? seconds : ticks * TICK, rate = length / duration;
            double longest = fmin(fmin(method ? 0.002 : 0.01, TAU), 1.5 / (KTAU / (MASS * (z.s1 + C))));
            long whole = (long)floor(longest / TICK + 1e-6);
            z.part = 0.0;
            while (phase == RISE ? z.part < RISE_S - 1e-9 : begun < ticks) {
                long size = phase == RISE ? whole : (ticks - begun < whole ? ticks - begun : whole);
                Flow sum;
                double peak;
                State (*step)(int, const State *, double, double, double, double, Flow *, double *) =
                    method ? euler : kutta;
                State end = step(phase, &z, begun * TICK, size * TICK, rate, duration, &sum, &peak);
                if (phase == RISE && end.part >= RISE_S - 1e-9) {
                    long under = 0;
                    while (size - under > 1) { /* first tick at which the rise is over */
                        long middle = (size + under) / 2;
                        end = step(phase, &z, begun * TICK, middle * TICK, rate, duration, &sum, &peak);
                        if (end.part >= RISE_S - 1e-9) size = middle; else under = middle;
                    }
                    end = step(phase, &z, begun * TICK, size * TICK, rate, duration, &sum, &peak);
                }
                if (sum.path > 0.0) {
                    t->slip += sum.path;
                    t->energy += sum.power;
                    t->worn += sum.worn;
                    t->travel += sum.q;
                    t->low = fmin(t->low, t->travel);
                    t->high = fmax(t->high, t->travel);
                    deposit(z.s0, z.s0 - sum.q, sum.worn);
                }
                t->viscous += sum.viscous; t->mixing += sum.mixing;
                t->device += sum.device; t->leaves += sum.leaves;
                t->peak = fmax(t->peak, peak);
                z = end;
                begun += size;
                t->steps++;
            }
            t->ticks += begun;
        }
        gained += net;
    }
    *out = z;
}

int main(int argc, char **argv) {
    int method = argc > 1 && atoi(argv[1]);
    int repeats = argc > 2 ? atoi(argv[2]) : 1;
    double *names[] = { &K, &TAU, &DIAMETER, &MU, &RADIUS, &AFTER, &BEND, &MASS, &BODY, &FORCE, &DEPTH,
        &LENGTH, &NET, &BACK, &RISE_S, &DROP_S, &PAUSE_S, &GAIN, &COLD, &PER_SPEED, &CELL, &LEFT };
    for (size_t i = 0; i < sizeof names / sizeof *names; i++)
        if (scanf("%lf", names[i]) != 1) return 1;
    KTAU = K * TAU; C = K / BODY; RATIO = exp(MU * BEND);
    WEIGHT = MASS * G; FULL = FORCE * WEIGHT; SPAN = (FORCE - 1.0) * WEIGHT;
    State z = {0};
    Sums t = {0};
    double worst = 0.0, total = 0.0;
    for (int r = 0; r < repeats; r++) {
        struct timespec a, b;
        clock_gettime(CLOCK_PROCESS_CPUTIME_ID, &a);
        climb(method, &z, &t);
        double slope = 0.0, value = 0.0;
        worst = 0.0;
        for (int i = low; i <= high; i++) {
            slope += field[i];
            value += slope;
            field[i] = 0.0;
            worst = fmax(worst, value);
        }
        clock_gettime(CLOCK_PROCESS_CPUTIME_ID, &b);
        total += (b.tv_sec - a.tv_sec) + 1e-9 * (b.tv_nsec - a.tv_nsec);
    }
    printf("%.17g %.17g %.17g %.17g %.17g %.17g %ld %ld %.9g\n", t.slip, t.energy, t.worn, t.peak, z.y,
           worst, t.steps, t.ticks, total / repeats);
    return 0;
}
