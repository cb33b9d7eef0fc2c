/* The stepper of helpers/simulation/kernel.py, written again in C: the same method, timing and
   logging, and the laws that follow the motion. */
#include <math.h>
#include <stdint.h>
#include <stdlib.h>
#include <string.h>

enum { PASSIVE, TWO_STATE, FOLLOWED_FORCE, STATE_FEEDBACK };
#define SMOOTHING 0.02
#define FULLEST_COLUMN 0.95

typedef struct {
    double per_body_mass, per_wheel_mass, spring_rate, tyre_rate, bump_travel, rebound_travel, stop_rate;
    double per_gas_column, seal, static_load;
} Vehicle;
typedef struct { double rebound_low, rebound_high, rebound_knee, low, high, knee, rounded; } Curve;
typedef struct { double body, wheel, damper, friction; } Rates;
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

static inline Rates accelerations(const Vehicle *q, const Curve *open, const Curve *lockout, double zs, double vs,
                                  double zu, double vu, double road, double push, double valve, double actuator) {
    double squeeze = zu - zs, speed = vs - vu;
    double column = least(squeeze * q->per_gas_column, FULLEST_COLUMN);
    double spring = q->spring_rate * squeeze / (1.0 - column);
    double stop = most(squeeze - q->bump_travel, 0.0) - most(-squeeze - q->rebound_travel, 0.0);
    double held = spring + q->stop_rate * stop + actuator;
    double tyre = most(q->tyre_rate * (road - zu), -q->static_load);
    double damper = valve_force(open, lockout, valve, speed);
    double slide = least(most(speed, -SMOOTHING), SMOOTHING);
    double steep = q->seal * (1.5 / SMOOTHING), bend = q->seal * (0.5 / (SMOOTHING * SMOOTHING * SMOOTHING));
    double friction = steep * slide - bend * slide * (slide * slide);
    double resisting = damper + friction;
    Rates r = {(held + push - resisting) * q->per_body_mass, (tyre - held + resisting) * q->per_wheel_mass, damper,
               friction};
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

long march(const Vehicle *vehicle, const Curve *open_curve, const Curve *lockout_curve, long code, const double *law,
           double step, long every, long delay, long jitter, double smoothing, double valve_half, double valve_full,
           double valve_start, const double *start, const double *road, const double *push, const double *ahead,
           long steps, uint64_t seed, long log_every, double *log, double *energy) {
    /* Copies, so that the compiler knows that writing the log does not change them. */
    const Vehicle own_vehicle = *vehicle;
    const Curve own_open = *open_curve, own_lockout = *lockout_curve;
    const Vehicle *q = &own_vehicle;
    const Curve *open = &own_open, *lockout = &own_lockout;
    double zs = start[0], vs = start[1], zu = start[2], vu = start[3];
    double valve = valve_start, actuator = 0.0;
    Command command = {valve_start, 0.0};
    long slots = delay + jitter + 1, newest = -1, changes = 0;
    Command *due = calloc(slots, sizeof *due);
    long *stamp = malloc(slots * sizeof *stamp);
    for (long i = 0; i < slots; i++) stamp[i] = -1;
    uint64_t random = 2 * seed + 1;
    double seen[7] = {0}, memory[4] = {0};
    double half = 0.5 * step, keep = smoothing, take = 1.0 - smoothing;
    double damper_heat = 0, friction_heat = 0, work = 0, supply = 0;
    for (long n = 0; n <= steps; n++) {
        double r0 = road[2 * n], p0 = push[2 * n];
        Rates k1 = accelerations(q, open, lockout, zs, vs, zu, vu, r0, p0, valve, actuator);
        int sampling = n % every == 0;
        if (sampling || smoothing > 0.0) {
            double now[7] = {vs, vs - vu, k1.body, k1.wheel, zs - zu, zu - r0, ahead[n]};
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
                    k1 = accelerations(q, open, lockout, zs, vs, zu, vu, r0, p0, valve, actuator);
                }
            }
        }
        if (n % log_every == 0) {
            double row[8] = {zs, vs, zu, vu, k1.body, k1.wheel, valve, actuator};
            memcpy(log + n / log_every * 8, row, sizeof row);
        }
        if (n == steps) break;
        double mid_valve = command.valve + valve_half * (valve - command.valve);
        double mid_force = command.force + valve_half * (actuator - command.force);
        double end_valve = command.valve + valve_full * (valve - command.valve);
        double end_force = command.force + valve_full * (actuator - command.force);
        double rm = road[2 * n + 1], pm = push[2 * n + 1], r1 = road[2 * n + 2], p1 = push[2 * n + 2];
        double vs2 = vs + half * k1.body, vu2 = vu + half * k1.wheel;
        Rates k2 = accelerations(q, open, lockout, zs + half * vs, vs2, zu + half * vu, vu2, rm, pm, mid_valve,
                                 mid_force);
        double vs3 = vs + half * k2.body, vu3 = vu + half * k2.wheel;
        Rates k3 = accelerations(q, open, lockout, zs + half * vs2, vs3, zu + half * vu2, vu3, rm, pm, mid_valve,
                                 mid_force);
        double vs4 = vs + step * k3.body, vu4 = vu + step * k3.wheel;
        Rates k4 = accelerations(q, open, lockout, zs + step * vs3, vs4, zu + step * vu3, vu4, r1, p1, end_valve,
                                 end_force);
        double x1 = vs - vu, x2 = vs2 - vu2, x3 = vs3 - vu3, x4 = vs4 - vu4;
        damper_heat += k1.damper * x1 + 2.0 * (k2.damper * x2 + k3.damper * x3) + k4.damper * x4;
        friction_heat += k1.friction * x1 + 2.0 * (k2.friction * x2 + k3.friction * x3) + k4.friction * x4;
        double w1 = actuator * x1, w2 = mid_force * x2, w3 = mid_force * x3, w4 = end_force * x4;
        work += w1 + 2.0 * (w2 + w3) + w4;
        supply += most(w1, 0.0) + 2.0 * (most(w2, 0.0) + most(w3, 0.0)) + most(w4, 0.0);
        zs += step / 6.0 * (vs + 2.0 * (vs2 + vs3) + vs4);
        zu += step / 6.0 * (vu + 2.0 * (vu2 + vu3) + vu4);
        vs += step / 6.0 * (k1.body + 2.0 * (k2.body + k3.body) + k4.body);
        vu += step / 6.0 * (k1.wheel + 2.0 * (k2.wheel + k3.wheel) + k4.wheel);
        valve = end_valve;
        actuator = end_force;
    }
    energy[0] = damper_heat * step / 6.0;
    energy[1] = friction_heat * step / 6.0;
    energy[2] = work * step / 6.0;
    energy[3] = supply * step / 6.0;
    free(due);
    free(stamp);
    return changes;
}
