/* The reference ascent in C: classical Runge-Kutta of up to 10 ms (the kernels' algorithm and their
   accounts) or semi-implicit Euler of 2 ms (without accounts), one edge, exact deposition. Built by
   kernel.py with gcc -O3.
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
static double NET, BACK, RISE_S, DROP_S, PAUSE_S, GAIN, COLD, PER_SPEED, CELL, LEFT, SHEATH;
static double KTAU, C, RATIO, WEIGHT, FULL, PER_SPAN, PER_MASS, PER_CELL;
static double field[CELLS + 4];
static int low, high;

typedef struct {
    double a, p, s0, d1, q, path, power, worn, t0, t1, e0, e1, drawn, viscous, mixing, device, leaves;
    double first_q, first_worn; /* of the first half of a step */
} Flow;
typedef struct { double y, v, s0, d1, part; } State; /* d1: rope below and the body's share of it */

/* fmax and fmin are calls, for the sake of NaN */
static inline double most(double a, double b) { return a > b ? a : b; }
static inline double least(double a, double b) { return a < b ? a : b; }

static inline double jerk(double x) {
    if (x <= 0.0 || x >= 1.0) return 0.0;
    double y = x * (1.0 - x);
    return 30.0 * y * y;
}

/* slip rate and tensions for a0 + b0*q above the edge, a1 - b1*q below */
static inline void rates(double a0, double b0, double a1, double b1, double *q, double *t0, double *t1) {
    double tolerance = 1e-12 * (1.0 + a0 + a1), over = a1 - RATIO * a0, under = RATIO * a1 - a0;
    if (over > tolerance) {
        *q = over / (RATIO * b0 + b1);
        *t0 = a0 + b0 * *q;
        *t1 = RATIO * a0 + RATIO * b0 * *q;
    } else if (under < -tolerance) {
        *q = under / (b0 + RATIO * b1);
        *t0 = RATIO * a1 - RATIO * b1 * *q;
        *t1 = a1 - b1 * *q;
    } else {
        *q = 0.0;
        *t0 = a0;
        *t1 = a1;
    }
}

/* the same for (a1 + share*FULL - b1*q)/(1 + share) below: the person lifts the less */
static inline void yielding_rates(double a0, double b0, double a1, double b1, double share,
                                  double *q, double *t0, double *t1) {
    double held = RATIO * a0, steep = RATIO * b0, tolerance = 1e-12 * (1.0 + a0 + a1);
    double over = (a1 - held) + share * (FULL - held);
    double under = (RATIO * a1 - a0) + share * (RATIO * FULL - a0);
    if (over > tolerance) {
        *q = over / ((steep + b1) + share * steep);
        *t0 = a0 + b0 * *q;
        *t1 = held + steep * *q;
    } else if (under < -tolerance) {
        *q = under / ((b0 + RATIO * b1) + share * b0);
        *t0 = a0 + b0 * *q;
        *t1 = *t0 / RATIO;
    } else {
        *q = 0.0;
        *t0 = a0;
        *t1 = (a1 + share * FULL) / (1.0 + share);
    }
}

/* the device takes all in, nothing, or a share that falls with the tension: first as near the last rate */
static inline double slip(double a0, double b0, double a1, double b1, double take, int rising, double near,
                          double *t0, double *t1, double *share) {
    double q, x = a1 - b1 * near;
    int piece = !rising || x + b1 * take <= WEIGHT ? 1 : x >= FULL ? 2 : 3;
    for (int pass = 0; pass < 12; pass++) {
        if (piece == 1) {
            rates(a0, b0, a1 + b1 * take, b1, &q, t0, t1);
            *share = 1.0;
            if (!rising || *t1 <= WEIGHT) return q;
        } else if (piece == 2) {
            rates(a0, b0, a1, b1, &q, t0, t1);
            *share = 0.0;
            if (*t1 >= FULL) return q;
        } else {
            yielding_rates(a0, b0, a1, b1, b1 * (take * PER_SPAN), &q, t0, t1);
            *share = (FULL - *t1) * PER_SPAN;
            if (*t1 > WEIGHT && *t1 < FULL) return q;
        }
        piece = *t1 <= WEIGHT ? 1 : *t1 >= FULL ? 2 : 3;
    }
    return q;
}

static inline void flow(int phase, const State *z, double time, double rate, double often, double near,
                        Flow *f) {
    int rising = phase == RISE;
    double take = rate * jerk((rising ? z->part : time) * often);
    double i0 = 1.0 / z->s0, i1 = 1.0 / z->d1, length = z->y + C;
    double e0 = (AFTER - z->s0) * i0, e1 = (length - z->d1) * i1, t0, t1, share;
    double q = slip(K * e0, KTAU * AFTER * (i0 * i0), (K * (length - z->d1) + KTAU * z->v) * i1,
                    KTAU * length * (i1 * i1), take, rising, near, &t0, &t1, &share);
    double drawn = take * share;
    double mean = 0.5 * (e0 + e1), speed = (1.0 + mean) * fabs(q), power = fabs(t1 - t0) * speed;
    double c1 = q - drawn;
    f->a = G - t1 * PER_MASS;
    f->p = rising ? share : 0.0;
    f->s0 = -q;
    f->d1 = c1;
    f->q = q;
    f->path = speed;
    f->power = power;
    f->worn = power * most(t0, t1) * GAIN * (COLD + speed * PER_SPEED);
    f->t0 = t0;
    f->t1 = t1;
    f->e0 = e0;
    f->e1 = e1;
    f->drawn = drawn;
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

static void deposit(double start, double end, double window, double amount) {
    double first = (start - LEFT) * PER_CELL, last = (end - LEFT) * PER_CELL;
    window *= PER_CELL;
    double travel = most(fabs(last - first), 1e-3), left = least(first, last) - 0.5 * window;
    double slope = amount * PER_CELL / (window * travel), right = left + travel + window;
    ramp(left, slope);
    ramp(left + least(window, travel), -slope);
    ramp(left + most(window, travel), -slope);
    ramp(right, slope);
    if ((int)left < low) low = (int)left;
    if ((int)right + 2 > high) high = (int)right + 2;
}

typedef struct {
    double slip, energy, worn, peak, viscous, mixing, device, leaves, low, high, travel;
    double flows, drawn, anchor_peak, stretch, wrap, flash, flash_n, flash_speed, flash_wrap; /* accounts */
    double edge_peak, cycle_peak, cycle_friction, cycle_slip, sawing, cycle_low, cycle_high;
    double bound, largest, run_at, run_steep, run_window, run_sum, residual, level;
    long steps, ticks, slips, bare_tick, bare_ticks, cycle_ticks, core_tick, strokes_stuck;
    int way, run_way;
} Sums;

/* tensions and rates at the start and the middle of a step, strains at its end */
typedef struct { double t0[2], t1[2], q[2], e0, e1; } Seen;

static inline void add(Flow *sum, const Flow *f, double w, double part) {
    sum->first_q += w * part * f->q; sum->first_worn += w * part * f->worn;
    sum->a += w * f->a; sum->p += w * f->p; sum->s0 += w * f->s0; sum->d1 += w * f->d1;
    sum->q += w * f->q; sum->path += w * f->path; sum->power += w * f->power; sum->worn += w * f->worn;
    sum->viscous += w * f->viscous; sum->mixing += w * f->mixing;
    sum->device += w * f->device; sum->leaves += w * f->leaves;
}

static inline State stage(const State *z, double v, const Flow *f, double h) {
    State n = { z->y + h * v, z->v + h * f->a, z->s0 + h * f->s0, z->d1 + h * f->d1, z->part + h * f->p };
    return n;
}

static State kutta(int phase, const State *z, double time, double h, double rate, double often,
                   Flow *sum, Seen *seen) {
    Flow f;
    State n = *z;
    double speeds = 0.0, v;
    memset(sum, 0, sizeof *sum);
    flow(phase, &n, time, rate, often, 0.0, &f);
    seen->t0[0] = f.t0; seen->t1[0] = f.t1; seen->q[0] = f.q;
    double begins = f.q;
    add(sum, &f, h / 6.0, 1.25); speeds += n.v; v = n.v;
    n = stage(z, v, &f, 0.5 * h);
    flow(phase, &n, time + 0.5 * h, rate, often, f.q, &f);
    add(sum, &f, h / 3.0, 0.5); speeds += 2.0 * n.v; v = n.v;
    n = stage(z, v, &f, 0.5 * h);
    flow(phase, &n, time + 0.5 * h, rate, often, f.q, &f);
    seen->t0[1] = f.t0; seen->t1[1] = f.t1; seen->q[1] = f.q;
    add(sum, &f, h / 3.0, 0.5); speeds += 2.0 * n.v; v = n.v;
    n = stage(z, v, &f, h);
    flow(phase, &n, time + h, rate, often, f.q, &f);
    seen->e0 = f.e0; seen->e1 = f.e1;
    add(sum, &f, h / 6.0, -0.25); speeds += n.v;
    if (begins * f.q >= 0.0) sum->first_q = most(least(sum->q, 0.0), least(most(sum->q, 0.0), sum->first_q));
    sum->first_worn = least(most(sum->first_worn, 0.0), sum->worn);
    State end = { z->y + h / 6.0 * speeds, z->v + sum->a, z->s0 + sum->s0, z->d1 + sum->d1, z->part + sum->p };
    return end;
}

static State euler(int phase, const State *z, double time, double h, double rate, double often,
                   Flow *sum, Seen *seen) {
    Flow f;
    memset(sum, 0, sizeof *sum);
    flow(phase, z, time, rate, often, 0.0, &f);
    seen->t0[0] = seen->t0[1] = f.t0; seen->t1[0] = seen->t1[1] = f.t1;
    add(sum, &f, h, 0.5);
    State end = { 0.0, z->v + sum->a, z->s0 + sum->s0, z->d1 + sum->d1, z->part + sum->p };
    end.y = z->y + h * end.v;
    return end;
}

/* largest exposure of any cell */
static double look(void) {
    double slope = 0.0, value = 0.0, worst = 0.0;
    for (int i = low; i <= high; i++) {
        slope += field[i];
        value += slope;
        worst = most(worst, value);
    }
    return worst;
}

/* what the worst place can have more after one slip more: a slide counts as its worst place gets */
static inline double grows(Sums *t, double at, double slip, double amount, double window) {
    int way = slip > 0.0 ? 1 : -1;
    double spread = amount / window, far = fabs(slip), alone = far <= window ? spread : amount / far;
    double steep = 0.0, wide = 0.0, total = 0.0;
    if (far < 1e-5) return alone;
    if (way == t->run_way && way * (t->run_at - at) > -1e-12) {
        steep = t->run_steep; wide = t->run_window; total = t->run_sum;
    }
    double before = least(steep * wide, total);
    steep = most(steep, spread / far);
    wide = most(wide, window);
    total += spread;
    double more = least(steep * wide, total) - before;
    if (more > alone) return alone;
    t->run_way = way; t->run_at = at - slip; t->run_steep = steep; t->run_window = wide; t->run_sum = total;
    return more;
}

/* what is kept of a step besides its sums: peaks, bends, cycles, flash, the bound of the worst place */
static inline void account(const State *z, const State *end, const Flow *sum, const Seen *seen, long tick,
                           long size, double window, Sums *t) {
    double high_n = most(most(seen->t0[0], seen->t1[0]), most(seen->t0[1], seen->t1[1]));
    double friction = fabs(seen->t1[0] - seen->t0[0]);
    int way = 0;
    t->edge_peak = most(t->edge_peak, high_n);
    t->cycle_peak = most(t->cycle_peak, high_n);
    if (high_n > 1.0) {
        t->wrap = most(t->wrap, BEND);
        t->cycle_ticks += size;
        if (high_n > 200.0 && BEND > 0.035) {
            if (t->bare_tick < 0) t->bare_tick = tick;
            t->bare_ticks += size;
        }
    }
    t->cycle_friction = most(t->cycle_friction, friction);
    if (sum->path > 0.0) {
        way = sum->q > 0.0 ? 1 : -1;
        t->cycle_slip += sum->path;
        t->cycle_low = least(t->cycle_low, t->travel);
        t->cycle_high = most(t->cycle_high, t->travel);
        for (int half = 0; half < 2; half++) {
            double tension = seen->t1[half] - seen->t0[half];
            double speed = fabs(seen->q[half]) * (1.0 + seen->e1), measure = tension * tension * speed;
            if (measure > t->flash) {
                t->flash = measure; t->flash_n = fabs(tension);
                t->flash_speed = speed; t->flash_wrap = BEND;
            }
        }
        double later = sum->worn - sum->first_worn;
        if (sum->first_worn > 0.0) t->bound += grows(t, z->s0, sum->first_q, sum->first_worn, window);
        if (later > 0.0) t->bound += grows(t, z->s0 - sum->first_q, sum->q - sum->first_q, later, window);
    }
    if (way && way != t->way) t->slips++;
    t->way = way;
    t->anchor_peak = most(t->anchor_peak, most(seen->t0[0], seen->t0[1]));
    t->stretch = most(t->stretch, seen->e0 * end->s0 + seen->e1 * (end->d1 - C));
    t->drawn += sum->q - sum->d1;
    t->flows += fabs(sum->device) + fabs(sum->leaves) + fabs(sum->viscous) + fabs(sum->power) + fabs(sum->mixing);
    if (t->bound >= t->level) {
        t->largest = t->bound = look();
        t->run_way = 0;
        if (t->largest >= SHEATH) {
            if (t->core_tick < 0) t->core_tick = tick + size;
            t->level = t->largest + SHEATH;
        }
    }
}

/* the end of a stroke */
static void close_cycle(Sums *t) {
    t->sawing = most(t->sawing, t->cycle_high - t->cycle_low);
    t->strokes_stuck += t->cycle_slip < 1e-6;
    t->cycle_low = t->cycle_high = t->travel;
    t->cycle_slip = t->cycle_friction = t->cycle_peak = 0.0;
    t->cycle_ticks = 0;
}

static inline State step(int method, int phase, const State *z, double time, double h, double rate,
                         double often, Flow *sum, Seen *seen) {
    return method ? euler(phase, z, time, h, rate, often, sum, seen)
                  : kutta(phase, z, time, h, rate, often, sum, seen);
}

static void climb(int method, State *out, Sums *t) {
    double e0 = WEIGHT / RATIO / K, e1 = WEIGHT / K, gained = 0.0, window = most(RADIUS * BEND, DIAMETER);
    State z = { DEPTH, 0.0, AFTER / (1.0 + e0), (DEPTH + C) / (1.0 + e1), 0.0 };
    memset(t, 0, sizeof *t);
    t->peak = WEIGHT;
    t->bare_tick = t->core_tick = -1;
    t->level = SHEATH;
    low = CELLS; high = -1;
    while (LENGTH - gained > 1e-9) {
        double net = least(NET, LENGTH - gained);
        for (int phase = RISE; phase <= PAUSE; phase++) {
            double seconds = phase == RISE ? RISE_S : phase == DROP ? DROP_S : PAUSE_S;
            double length = phase == RISE ? net + BACK : phase == DROP ? -BACK : 0.0;
            long ticks = (long)floor(seconds / TICK + 0.5), begun = 0;
            double duration = phase == RISE ? seconds : ticks * TICK, rate = length / duration;
            double often = 1.0 / duration;
            double steady = 0.1 / sqrt(K / (z.s0 + z.d1) / MASS);
            double longest = method ? 0.002 : most(0.01, least(0.015, steady));
            longest = least(least(longest, TAU), 1.5 / (KTAU / (MASS * z.d1)));
            long whole = (long)floor(longest / TICK + 1e-6);
            z.part = 0.0;
            while (phase == RISE ? z.part < RISE_S - 1e-9 : begun < ticks) {
                long size = phase == RISE ? whole : (ticks - begun < whole ? ticks - begun : whole);
                Flow sum;
                Seen seen;
                State end = step(method, phase, &z, begun * TICK, size * TICK, rate, often, &sum, &seen);
                if (phase == RISE && end.part >= RISE_S - 1e-9) { /* first tick at which the rise is over */
                    double left = RISE_S - 1e-9 - z.part;
                    long under = 0, guess = (long)ceil(size * left / (end.part - z.part));
                    while (size - under > 1) {
                        guess = guess < under + 1 ? under + 1 : guess > size - 1 ? size - 1 : guess;
                        end = step(method, phase, &z, begun * TICK, guess * TICK, rate, often, &sum, &seen);
                        if (end.part >= RISE_S - 1e-9) size = guess--; else under = guess++;
                    }
                    end = step(method, phase, &z, begun * TICK, size * TICK, rate, often, &sum, &seen);
                }
                if (sum.path > 0.0) {
                    t->slip += sum.path;
                    t->energy += sum.power;
                    t->worn += sum.worn;
                    t->travel += sum.q;
                    t->low = least(t->low, t->travel);
                    t->high = most(t->high, t->travel);
                    double turn = z.s0 - sum.first_q, later = sum.worn - sum.first_worn;
                    if (sum.first_worn > 0.0) deposit(z.s0, turn, window, sum.first_worn);
                    if (later > 0.0) deposit(turn, z.s0 - sum.q, window, later);
                }
                t->viscous += sum.viscous; t->mixing += sum.mixing;
                t->device += sum.device; t->leaves += sum.leaves;
                t->peak = most(t->peak, most(most(seen.t0[0], seen.t1[0]), most(seen.t0[1], seen.t1[1])));
                if (!method) account(&z, &end, &sum, &seen, t->ticks + begun, size, window, t);
                z = end;
                begun += size;
                t->steps++;
            }
            t->ticks += begun;
        }
        close_cycle(t);
        gained += net;
    }
    *out = z;
}

int main(int argc, char **argv) {
    int method = argc > 1 && atoi(argv[1]);
    int repeats = argc > 2 ? atoi(argv[2]) : 1;
    double *names[] = { &K, &TAU, &DIAMETER, &MU, &RADIUS, &AFTER, &BEND, &MASS, &BODY, &FORCE, &DEPTH,
        &LENGTH, &NET, &BACK, &RISE_S, &DROP_S, &PAUSE_S, &GAIN, &COLD, &PER_SPEED, &CELL, &LEFT, &SHEATH };
    for (size_t i = 0; i < sizeof names / sizeof *names; i++)
        if (scanf("%lf", names[i]) != 1) return 1;
    KTAU = K * TAU; C = K / BODY; RATIO = exp(MU * BEND);
    WEIGHT = MASS * G; FULL = FORCE * WEIGHT; PER_SPAN = 1.0 / ((FORCE - 1.0) * WEIGHT);
    PER_MASS = 1.0 / MASS; PER_CELL = 1.0 / CELL;
    State z = {0};
    Sums t = {0};
    double worst = 0.0, total = 0.0;
    for (int r = 0; r < repeats; r++) {
        struct timespec a, b;
        clock_gettime(CLOCK_PROCESS_CPUTIME_ID, &a);
        climb(method, &z, &t);
        worst = look();
        clock_gettime(CLOCK_PROCESS_CPUTIME_ID, &b);
        total += (b.tv_sec - a.tv_sec) + 1e-9 * (b.tv_nsec - a.tv_nsec);
        for (int i = low; i <= high; i++) field[i] = 0.0;
    }
    printf("%.17g %.17g %.17g %.17g %.17g %.17g %ld %ld ", t.slip, t.energy, t.worn, t.peak, z.y, worst,
           t.steps, t.ticks);
    printf("%.17g %.17g %.17g %.17g %.17g %.17g ", t.anchor_peak, t.stretch, t.sawing, t.flash, t.drawn, t.flows);
    printf("%ld %ld %ld %.9g\n", t.slips, t.bare_ticks, t.core_tick, total / repeats);
    return 0;
}
