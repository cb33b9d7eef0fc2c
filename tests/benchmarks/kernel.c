/* The stepper of helpers/simulation/kernel.py, written again in C: the same method, timing and
   logging, and the laws that follow the motion. */
#include <math.h>
#include <stdint.h>
#include <stdlib.h>
#include <string.h>

enum { PASSIVE, TWO_STATE, FOLLOWED_FORCE, STATE_FEEDBACK };
#define SMOOTHING 0.02
#define FULLEST_COLUMN 0.95
#define SHARE 0.15505102572168219
#define LOGGED 11

typedef struct {
    double per_body_mass, per_wheel_mass, spring_rate, tyre_rate, bump_travel, rebound_travel, stop_rate;
    double per_gas_column, seal, static_load;
} Vehicle;
typedef struct { double soft, more, knee, bend, bends, edge, turn, turns; } Knees;
typedef struct { double yielding; Knees out, in; } Series;
typedef struct {
    double seal_stiffness, seal_most, rim_travel, rim_rate, stiffness, yielding, most, per_tyre_rate;
} Friction;
typedef struct { double rebound_low, rebound_high, rebound_knee, low, high, knee, rounded; } Curve;
typedef struct { double body, wheel, friction, tyre; } Rates;
typedef struct { double force, stretching; } Damped;
typedef struct { double seals, travel, rubber, before; } Held;
typedef struct { double valve, force; } Command;

static inline double least(double a, double b) { return a < b ? a : b; }
static inline double most(double a, double b) { return a > b ? a : b; }

static inline double saturated(const Curve *c, double v) {
    if (c->rounded > 0.0) return v / (1.0 + fabs(v) / (v >= 0.0 ? c->rebound_knee : c->knee));
    return least(most(v, -c->knee), c->rebound_knee);
}

static inline double valve_force(const Curve *a, const Curve *b, double valve, double v) {
    double rest = 1.0 - valve, high, knees_a, knees_b;
    if (v >= 0.0) {
        high = rest * a->rebound_high + valve * b->rebound_high;
        knees_a = rest * (a->rebound_low - a->rebound_high);
        knees_b = valve * (b->rebound_low - b->rebound_high);
    } else {
        high = rest * a->high + valve * b->high;
        knees_a = rest * (a->low - a->high);
        knees_b = valve * (b->low - b->high);
    }
    return high * v + (knees_a * saturated(a, v) + knees_b * saturated(b, v));
}

static inline double curve_force(const Curve *c, double v) {
    double low = c->low, high = c->high;
    if (v >= 0.0) low = c->rebound_low, high = c->rebound_high;
    return high * v + (low - high) * saturated(c, v);
}

/* series, friction: null for a vehicle without. */
static inline Damped damping(const Curve *open, const Curve *lockout, const Series *series, double valve, double speed,
                             double reached, double share) {
    if (!series) return (Damped){valve_force(open, lockout, valve, speed), 0.0};
    reached += share * speed;
    const Knees *k = reached >= 0.0 ? &series->out : &series->in;
    double high = k->soft + k->more * valve, bend = k->bend + k->bends * valve, turn = k->turn + k->turns * valve;
    double third = share + series->yielding * high;
    double second = third + series->yielding * turn, first = second + series->yielding * bend;
    double size = fabs(reached), at_knee = first * k->knee, at_edge = at_knee + second * (k->edge - k->knee);
    double begin = size > at_edge ? k->edge : k->knee, gone = size > at_edge ? at_edge : at_knee;
    double slope = size > at_edge ? third : second;
    if (size <= at_knee) begin = 0.0, gone = 0.0, slope = first;
    double own = begin + (size - gone) / slope;
    double force = high * own + (bend * least(own, k->knee) + turn * least(own, k->edge));
    if (reached < 0.0) own = -own, force = -force;
    return (Damped){force, speed - own};
}

static inline double dragged(double force, double stiffness, double moved, double limit) {
    return least(most(force + stiffness * moved, -limit), limit);
}

static inline Rates moving(const Vehicle *q, const Friction *f, double zs, double vs, double zu, double vu, double road,
                           double push, double actuator, double damper, Held held_before) {
    double squeeze = zu - zs, speed = vs - vu;
    double column = least(squeeze * q->per_gas_column, FULLEST_COLUMN);
    double spring = q->spring_rate * squeeze / (1.0 - column);
    double stop = most(squeeze - q->bump_travel, 0.0) - most(-squeeze - q->rebound_travel, 0.0);
    double held = spring + q->stop_rate * stop + actuator;
    double pressed = q->tyre_rate * (road - zu);
    if (f) {
        double moved = road - zu - held_before.before;
        pressed += f->rim_rate * most(road - zu - f->rim_travel, 0.0)
                   + dragged(held_before.rubber, f->stiffness, moved, f->most);
    }
    double tyre = most(pressed, -q->static_load);
    double slide = least(most(speed, -SMOOTHING), SMOOTHING);
    double steep = q->seal * (1.5 / SMOOTHING), bend = q->seal * (0.5 / (SMOOTHING * SMOOTHING * SMOOTHING));
    double friction = steep * slide - bend * slide * (slide * slide);
    if (f) friction += dragged(held_before.seals, f->seal_stiffness, -squeeze - held_before.travel, f->seal_most);
    double resisting = damper + friction;
    Rates r = {(held + push - resisting) * q->per_body_mass, (tyre - held + resisting) * q->per_wheel_mass, friction,
               tyre};
    return r;
}

static inline double weighed(const double *p, const double *seen) {
    return p[0] * seen[4] + p[1] * seen[0] + p[2] * seen[5] + p[3] * (seen[0] - seen[1]);
}

static Command decide(long code, const double *p, const double *seen, double *memory, const Curve *open,
                      const Curve *lockout) {
    Command c = {p[0], 0.0};
    switch (code) {
    case TWO_STATE: {
        double signal = p[2] * seen[0] + p[3] * seen[2];
        if (fabs(signal) >= p[4] && fabs(seen[1]) >= p[5]) memory[0] = signal * seen[1] > 0.0;
        c.valve = memory[0] > 0.0 ? p[1] : p[0];
        break;
    }
    case FOLLOWED_FORCE: {
        double softest = curve_force(open, seen[1]), reach = curve_force(lockout, seen[1]) - softest;
        c.valve = reach == 0.0 ? 0.0 : least(most((weighed(p, seen) - softest) / reach, 0.0), 1.0);
        break;
    }
    case STATE_FEEDBACK:
        c.valve = p[5];
        c.force = least(most(seen[6] - weighed(p, seen), -p[4]), p[4]);
    }
    return c;
}

static inline long marched(const Vehicle *vehicle, const Series *series, const Friction *friction, const Curve *open_curve,
                           const Curve *lockout_curve, long code, const double *law, double step, long every, long delay,
                           long jitter, double smoothing, double valve_half, double valve_full, double valve_start,
                           double *state, const double *road, const double *push, const double *ahead, long steps,
                           uint64_t seed, long log_every, double *log, double *energy) {
    /* Copies, so that the compiler knows that writing the log does not change them. */
    const Vehicle own_vehicle = *vehicle;
    const Curve own_open = *open_curve, own_lockout = *lockout_curve;
    const Vehicle *q = &own_vehicle;
    const Curve *open = &own_open, *lockout = &own_lockout;
    Series own_series;
    Friction own_friction;
    if (series) own_series = *series, series = &own_series;
    if (friction) own_friction = *friction, friction = &own_friction;
    double zs = state[0], vs = state[1], zu = state[2], vu = state[3], own = 0.0;
    Damped k1 = {0.0, 0.0};
    Held held = {0.0, 0.0, 0.0, 0.0};
    if (series) k1.force = state[4], own = state[5];
    if (friction) held.seals = state[6], held.rubber = state[7];
    double valve = valve_start, actuator = 0.0;
    Command command = {valve_start, 0.0};
    long slots = delay + jitter + 1, newest = -1, changes = 0;
    Command *due = calloc(slots, sizeof *due);
    long *stamp = malloc(slots * sizeof *stamp);
    for (long i = 0; i < slots; i++) stamp[i] = -1;
    uint64_t random = 2 * seed + 1;
    double seen[7] = {0}, memory[4] = {0};
    double half = 0.5 * step, quick = SHARE * step, sixth = step / 6.0, keep = smoothing, take = 1.0 - smoothing;
    double damper_heat = 0, friction_heat = 0, tyre_heat = 0, work = 0, supply = 0, ground = 0;
    for (long n = 0; n <= steps; n++) {
        double r0 = road[2 * n], p0 = push[2 * n];
        if (series) k1.stretching = vs - vu - own;
        else k1 = damping(open, lockout, series, valve, vs - vu, 0.0, 0.0);
        if (friction) {
            held.travel = zs - zu;
            held.before = most(r0 - zu, -(q->static_load + held.rubber) * friction->per_tyre_rate);
        }
        Rates m1 = moving(q, friction, zs, vs, zu, vu, r0, p0, actuator, k1.force, held);
        int sampling = n % every == 0;
        if (sampling || smoothing > 0.0) {
            double now[7] = {vs, vs - vu, m1.body, m1.wheel, zs - zu, zu - r0, ahead[n]};
            for (int i = 0; i < 7; i++) seen[i] = keep * seen[i] + take * now[i];
        }
        if (sampling) {
            long slot = n + delay;
            if (jitter > 0) {
                random = random * 6364136223846793005u + 1442695040888963407u;
                slot += (long)(random >> 33) % (jitter + 1);
            }
            slot %= slots;
            due[slot] = decide(code, law, seen, memory, open, lockout);
            stamp[slot] = n;
        }
        long slot = n % slots;
        if (stamp[slot] > newest) {
            newest = stamp[slot];
            if (due[slot].valve != command.valve || due[slot].force != command.force) {
                command = due[slot];
                changes++;
                if (valve_half == 0.0) {
                    valve = command.valve;
                    actuator = command.force;
                    double stretch = series ? series->yielding * k1.force : 0.0;
                    Damped jumped = damping(open, lockout, series, valve, vs - vu, stretch, quick);
                    k1.stretching = jumped.stretching;
                    if (!series) k1.force = jumped.force;
                    m1 = moving(q, friction, zs, vs, zu, vu, r0, p0, actuator, k1.force, held);
                }
            }
        }
        if (n % log_every == 0) {
            double row[LOGGED] = {zs, vs, zu, vu, m1.body, m1.wheel, valve, actuator, k1.force,
                                  vs - vu - k1.stretching, m1.tyre + q->static_load};
            memcpy(log + n / log_every * LOGGED, row, sizeof row);
        }
        if (n == steps) break;
        double mid_valve = command.valve + valve_half * (valve - command.valve);
        double mid_force = command.force + valve_half * (actuator - command.force);
        double end_valve = command.valve + valve_full * (valve - command.valve);
        double end_force = command.force + valve_full * (actuator - command.force);
        double rm = road[2 * n + 1], pm = push[2 * n + 1], r1 = road[2 * n + 2], p1 = push[2 * n + 2];
        double stretch = series ? series->yielding * k1.force : 0.0;
        double vs2 = vs + half * m1.body, vu2 = vu + half * m1.wheel;
        Damped k2 = damping(open, lockout, series, mid_valve, vs2 - vu2, stretch + (half - quick) * k1.stretching, quick);
        Rates m2 = moving(q, friction, zs + half * vs, vs2, zu + half * vu, vu2, rm, pm, mid_force, k2.force, held);
        double vs3 = vs + half * m2.body, vu3 = vu + half * m2.wheel;
        double reached = stretch + (quick * k1.stretching + (half - 2.0 * quick) * k2.stretching);
        Damped k3 = damping(open, lockout, series, mid_valve, vs3 - vu3, reached, quick);
        Rates m3 = moving(q, friction, zs + half * vs2, vs3, zu + half * vu2, vu3, rm, pm, mid_force, k3.force, held);
        double vs4 = vs + step * m3.body, vu4 = vu + step * m3.wheel;
        reached = stretch + sixth * (k1.stretching + 2.0 * (k2.stretching + k3.stretching));
        Damped k4 = damping(open, lockout, series, end_valve, vs4 - vu4, reached, sixth);
        Rates m4 = moving(q, friction, zs + step * vs3, vs4, zu + step * vu3, vu4, r1, p1, end_force, k4.force, held);
        double x1 = vs - vu, x2 = vs2 - vu2, x3 = vs3 - vu3, x4 = vs4 - vu4;
        damper_heat += k1.force * x1 + 2.0 * (k2.force * x2 + k3.force * x3) + k4.force * x4;
        friction_heat += m1.friction * x1 + 2.0 * (m2.friction * x2 + m3.friction * x3) + m4.friction * x4;
        double w1 = actuator * x1, w2 = mid_force * x2, w3 = mid_force * x3, w4 = end_force * x4;
        work += w1 + 2.0 * (w2 + w3) + w4;
        supply += most(w1, 0.0) + 2.0 * (most(w2, 0.0) + most(w3, 0.0)) + most(w4, 0.0);
        double mean = 0.5 * (m2.tyre + m3.tyre);
        ground += (m1.tyre + mean) * (rm - r0) + (mean + m4.tyre) * (r1 - rm);
        zs += step / 6.0 * (vs + 2.0 * (vs2 + vs3) + vs4);
        zu += step / 6.0 * (vu + 2.0 * (vu2 + vu3) + vu4);
        vs += step / 6.0 * (m1.body + 2.0 * (m2.body + m3.body) + m4.body);
        vu += step / 6.0 * (m1.wheel + 2.0 * (m2.wheel + m3.wheel) + m4.wheel);
        valve = end_valve;
        actuator = end_force;
        if (series) k1.force = k4.force, own = x4 - k4.stretching;
        if (friction) {
            const Friction *f = friction;
            held.seals = dragged(held.seals, f->seal_stiffness, zs - zu - held.travel, f->seal_most);
            double there = r1 - zu, after = dragged(held.rubber, f->stiffness, there - held.before, f->most);
            double load = q->tyre_rate * there + (f->rim_rate * most(there - f->rim_travel, 0.0) + after) + q->static_load;
            if (load <= 0.0) {
                double parted = (f->stiffness * held.before - held.rubber - q->static_load) / (q->tyre_rate + f->stiffness);
                after = most(held.rubber + f->stiffness * (parted - held.before), -f->most);
                there = -(q->static_load + after) * f->per_tyre_rate;
            }
            tyre_heat += after * (there - held.before - (after - held.rubber) * f->yielding);
            held.rubber = after;
        }
    }
    state[0] = zs, state[1] = vs, state[2] = zu, state[3] = vu;
    double stretched = 0.0, sheared = 0.0, rolled = 0.0;
    if (series) state[4] = k1.force, state[5] = own, stretched = 0.5 * series->yielding * k1.force * k1.force;
    if (friction) {
        state[6] = held.seals, state[7] = held.rubber;
        sheared = friction->seal_stiffness > 0.0 ? 0.5 * held.seals * held.seals / friction->seal_stiffness : 0.0;
        rolled = 0.5 * held.rubber * held.rubber * friction->yielding;
    }
    energy[0] = damper_heat * step / 6.0 - stretched;
    energy[1] = friction_heat * step / 6.0 - sheared;
    energy[2] = work * step / 6.0;
    energy[3] = supply * step / 6.0;
    energy[4] = tyre_heat;
    energy[5] = 0.5 * ground + q->static_load * (road[2 * steps] - road[0]);
    energy[6] = stretched + sheared + rolled;
    free(due);
    free(stamp);
    return changes;
}

/* One stepper for vehicles that neither yield nor stick and one for those that do, as numba compiles them. */
long march(const Vehicle *vehicle, const Series *series, const Friction *friction, const Curve *open_curve,
           const Curve *lockout_curve, long code, const double *law, double step, long every, long delay, long jitter,
           double smoothing, double valve_half, double valve_full, double valve_start, double *state,
           const double *road, const double *push, const double *ahead, long steps, uint64_t seed, long log_every,
           double *log, double *energy) {
    if (series && friction)
        return marched(vehicle, series, friction, open_curve, lockout_curve, code, law, step, every, delay, jitter,
                       smoothing, valve_half, valve_full, valve_start, state, road, push, ahead, steps, seed, log_every,
                       log, energy);
    return marched(vehicle, 0, 0, open_curve, lockout_curve, code, law, step, every, delay, jitter, smoothing,
                   valve_half, valve_full, valve_start, state, road, push, ahead, steps, seed, log_every, log, energy);
}
