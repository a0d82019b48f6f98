"""The text of the C99 header, with the parts that can be left out; see `template`."""

TEXT = """\
/*
$head
 */
#ifndef ${p}_CONTROLLER_H
#define ${p}_CONTROLLER_H

%if moving
#include <math.h>
%end
#include <stdint.h>

/* How many numbers come back, and the place of each. */
enum {
%if steer
$steer_places
    ${p}_STEERS = $steers,
%end
$speed_places
    ${p}_SPEEDS = $speeds
};

/* What the controller remembers from call to call; ${p}_start fills it in. */
typedef struct {
    int32_t step; /* turn steps, $turn_one for an input of 1 */
%if place
    int32_t at[$steers]; /* where each motor is taken to be */
    int32_t rest[$steers];
%end
} ${p}_state;

/* What a call answers. */
typedef struct {
%if steer
    int32_t steer[$steers];
%end
    int32_t speed[$speeds];
%if hold
    int32_t holding; /* 1 while the drive waits for the steering */
%end
} ${p}_targets;

static inline int32_t ${p}_size(int32_t number)
{
    return number < 0 ? -number : number;
}

static inline int32_t ${p}_held(int32_t number, int32_t low, int32_t high)
{
    return number < low ? low : number > high ? high : number;
}

static inline int32_t ${p}_divided(int32_t number, int32_t by)
{
    int32_t size = (${p}_size(number) + by / 2) / by;
    return number < 0 ? -size : size;
}

%if table
static inline void ${p}_look(int32_t q, int32_t *wanted)
{
%if even
    /* First turn step, distance of rows and first row of each segment. */
    static const int${turn_bits}_t segments[$segment_count][3] = {$segments};
%end
%if free
    static const int${turn_bits}_t nodes[$rows] = {
$nodes
    };
%end
    static const int${value_bits}_t values[$rows][$columns] = {
$values
    };
    static const int8_t shifts[$columns] = {$shift};
%if clamp
    static const int32_t low[$steers] = {$low};
    static const int32_t high[$steers] = {$high};
    int32_t k;
%end
%if even
    int32_t segment = 0, row, past, width;
%end
%if free
    int32_t row = 0, top = $rows - 1, past, width;
%end
    int32_t c;
%if even
    while (segment + 1 < $segment_count && segments[segment + 1][0] <= q) {
        segment++;
    }
    width = segments[segment][1];
    past = (q - segments[segment][0]) % width;
    row = segments[segment][2] + (q - segments[segment][0]) / width;
%end
%if free
    while (row < top) {
        int32_t middle = (row + top + 1) / 2;
        if (nodes[middle] <= q) {
            row = middle;
        } else {
            top = middle - 1;
        }
    }
    past = q - nodes[row];
    width = past > 0 ? nodes[row + 1] - nodes[row] : 1;
%end
    for (c = 0; c < $columns; c++) {
        int32_t value = values[row][c];
        if (past > 0) {
            int32_t rise = values[row + 1][c] - value;
            if (rise < 0) {
                value -= (-rise * past + width / 2) / width;
            } else {
                value += (rise * past + width / 2) / width;
            }
        }
%if coarse
        if (shifts[c] < 0) {
            value *= (int32_t)1 << -shifts[c];
        }
%end
        if (shifts[c] > 0) {
            value = ${p}_divided(value, (int32_t)1 << shifts[c]);
        }
        wanted[c] = value;
    }
%if clamp
    for (k = 0; k < $steers; k++) {
        wanted[k] = ${p}_held(wanted[k], low[k], high[k]);
    }
%end
}

%end
%if formula
static inline int32_t ${p}_nearest(double number)
{
    return number < 0 ? -(int32_t)(0.5 - number) : (int32_t)(number + 0.5);
}

static inline void ${p}_look(int32_t q, int32_t *wanted)
{
%if steer
    /* Leading wheel of each steering output: ax, ay, ex, ratio, lowest and highest angle in radians,
       what is told straight ahead, and for each radian. */
    static const double angles[$steers][8] = {
$angles
    };
    /* First turn step of each stretch between jumps, and for each output there: what is added to the
       direction in radians, what it follows (0 nothing, 1 the leading wheel, 2 all wheels of its motor),
       and the sign of the trail's part. */
    static const int32_t starts[$stretches] = {$starts};
    static const double pieces[$stretches][$steers][3] = {
$pieces
    };
%if group
    /* For each stretch and output that follows all its wheels: numbers of a quadratic of 1 - |s| and s. */
    static const double groups[$stretches][$steers][6] = {
$groups
    };
%end
%if clamp
    static const int32_t low[$steers] = {$low};
    static const int32_t high[$steers] = {$high};
%end
    double turned[$steers];
    int32_t k, part = 0;
%end
%if drive
    /* Wheels of the drive motors: motor, weight, ax, ay, ey, direction straight ahead in radians, the
       steering output that turns it (-1 for none), and its ratio there. */
    static const double rollings[$rolling_count][8] = {
$rollings
    };
    double full[$speeds] = {0};
    int32_t d;
%end
%if moving
    double s = (double)q / $turn_one, ahead = 1 - fabs(s);
%end
%if steer
    while (part + 1 < $stretches && starts[part + 1] <= q) {
        part++;
    }
    for (k = 0; k < $steers; k++) {
        const double *wheel = angles[k], *piece = pieces[part][k];
        double angle = piece[0];
%if group
        if (piece[1] > 1) {
            const double *z = groups[part][k];
            angle += atan2((z[3] * ahead + z[4] * s) * ahead + z[5] * s * s,
                           (z[0] * ahead + z[1] * s) * ahead + z[2] * s * s) / 2;
        }
%end
%if lead
        if (piece[1] > 0 && piece[1] < 2) {
            double vx = ahead + s * wheel[0], vy = s * wheel[1];
%if trail
            double speed = sqrt(vx * vx + vy * vy);
%end
            angle += atan2(vy, vx);
%if trail
            if (speed > 0) {
                double pull = s * wheel[2] / speed;
                angle += piece[2] * asin(pull > 1 ? 1 : pull < -1 ? -1 : pull);
            }
%end
        }
%end
        angle /= wheel[3];
        turned[k] = angle < wheel[4] ? wheel[4] : angle > wheel[5] ? wheel[5] : angle;
        wanted[k] = ${p}_nearest(wheel[6] + wheel[7] * turned[k]);
%if clamp
        wanted[k] = ${p}_held(wanted[k], low[k], high[k]);
%end
    }
%end
%if drive
    for (d = 0; d < $rolling_count; d++) {
        const double *wheel = rollings[d];
        double angle = wheel[5];
%if steer
        if (wheel[6] >= 0) {
            angle += wheel[7] * turned[(int32_t)wheel[6]];
        }
%end
        full[(int32_t)wheel[0]] +=
            wheel[1] * ((ahead + s * wheel[2]) * cos(angle) + s * wheel[3] * sin(angle) - s * wheel[4]);
    }
    for (d = 0; d < $speeds; d++) {
        wanted[$steers + d] = ${p}_nearest(full[d]);
    }
%end
}

%end
static inline void ${p}_start(${p}_state *state)
{
%if place
    int32_t wanted[$columns];
    int32_t k;
    ${p}_look(0, wanted);
    for (k = 0; k < $steers; k++) {
        state->at[k] = wanted[k];
        state->rest[k] = 0;
    }
%end
    state->step = 0;
}

static inline int32_t ${p}_input(int32_t value)
{
    value = ${p}_held(value, -1000, 1000);
%if dead_band
    return ${p}_size(value) <= $dead ? 0 : value;
%end
%if !dead_band
    return value;
%end
}

%if place
static inline void ${p}_move(${p}_state *state, const int32_t *wanted, int32_t ms)
{
    static const int32_t rates[$steers] = {$rate};
    int32_t k;
    for (k = 0; k < $steers; k++) {
        int32_t way = wanted[k] - state->at[k];
        int32_t budget = state->rest[k] + rates[k] * ms;
        int32_t most = budget / 1000;
        if (${p}_size(way) <= most) {
            state->at[k] = wanted[k];
            state->rest[k] = 0;
        } else {
            state->at[k] += way > 0 ? most : -most;
            state->rest[k] = budget % 1000;
        }
    }
}

%end
static inline void ${p}_sides(${p}_state *state, int32_t left, int32_t right, int32_t ms,
%if hold
                              const int32_t *measured,
%end
                              ${p}_targets *targets)
{
%if hold
    static const int32_t within[$steers] = {$within};
    const int32_t *places = measured ? measured : state->at;
%end
%if drive scaling
    static const int32_t tops[$speeds] = {$top};
%end
    int32_t left_size = ${p}_size(left), right_size = ${p}_size(right);
    int32_t fast = left_size > right_size ? left_size : right_size;
    int32_t sense = left + right < 0 ? -1 : 1;
%if columns
    int32_t wanted[$columns];
    int32_t i;
%end
    if (fast > 0) {
        state->step = ${p}_held(${p}_divided(sense * (right - left) * $turn_one, 2 * fast), -$last, $last);
    }
%if columns
    ${p}_look(state->step, wanted);
%end
%if place
    ${p}_move(state, wanted, ${p}_held(ms, 0, 1000));
%end
%if !place
    (void)ms;
%end
%if steer
    for (i = 0; i < $steers; i++) {
%if limiter
        targets->steer[i] = state->at[i];
%end
%if !limiter
        targets->steer[i] = wanted[i];
%end
    }
%end
%if hold
    targets->holding = 0;
    for (i = 0; i < $steers; i++) {
        /* Held within a range whose differences fit. */
        int32_t place = ${p}_held(places[i], -1000000000, 1000000000);
        if (${p}_size(place - wanted[i]) > within[i]) {
            targets->holding = 1;
        }
    }
%end
%if drive scaling
    for (i = 0; i < $speeds; i++) {
        int32_t full = ${p}_size(wanted[$steers + i]);
        if (full * fast > tops[i] * 1000) {
            fast = tops[i] * 1000 / full;
        }
    }
%end
%if hold
    if (targets->holding) {
        fast = fast * $creep / 1000;
    }
%end
%if drive
    for (i = 0; i < $speeds; i++) {
        targets->speed[i] = ${p}_divided(wanted[$steers + i] * sense * fast, 1000);
    }
%end
%if !drive
    int32_t slow = ${p}_divided(sense * fast * ($turn_one - 2 * ${p}_size(state->step)), $turn_one);
    targets->speed[0] = state->step > 0 ? slow : sense * fast;
    targets->speed[1] = state->step > 0 ? sense * fast : slow;
%end
}

static inline void ${p}_drive(${p}_state *state, int32_t left, int32_t right, int32_t ms,
%if hold
                              const int32_t *measured,
%end
                              ${p}_targets *targets)
{
%if hold
    ${p}_sides(state, ${p}_input(left), ${p}_input(right), ms, measured, targets);
%end
%if !hold
    ${p}_sides(state, ${p}_input(left), ${p}_input(right), ms, targets);
%end
}
%if mixing

static inline void ${p}_stick(${p}_state *state, int32_t throttle, int32_t turn, int32_t ms,
%if hold
                              const int32_t *measured,
%end
                              ${p}_targets *targets)
{
    int32_t ahead = ${p}_input(throttle), about = ${p}_input(turn);
    int32_t left = ahead - about, right = ahead + about;
    int32_t most = ${p}_size(left) > ${p}_size(right) ? ${p}_size(left) : ${p}_size(right);
    if (most > 1000) {
        left = ${p}_divided(left * 1000, most);
        right = ${p}_divided(right * 1000, most);
    }
%if hold
    ${p}_sides(state, left, right, ms, measured, targets);
%end
%if !hold
    ${p}_sides(state, left, right, ms, targets);
%end
}
%end

#endif
"""
