"""The text of the MicroPython module, with the parts that can be left out; see `template`."""

TEXT = """\
$head

%if moving
from math import $functions

%end
${p}_STEER = $steer_names
${p}_SPEED = $speed_names
%if clamp
_${p}_LOW = $low
_${p}_HIGH = $high
%end
%if place
_${p}_RATE = $rate
%end
%if hold
_${p}_WITHIN = $within
%end
%if drive scaling
_${p}_TOP = $top
%end
%if table
_${p}_SHIFT = $shift
%if even
# First turn step, distance of rows and first row of each segment.
_${p}_SEGMENTS = $segments
%end
%if free
# Turn step of each row, the lowest byte first.
_${p}_NODES = (
$nodes
)
%end
# Values, row by row, the lowest byte first.
_${p}_VALUES = (
$values
)
%end
%if formula steer
# Leading wheel of each steering output: ax, ay, ex, ratio, lowest and highest angle in radians,
# what is told straight ahead, and for each radian.
_${p}_ANGLES = (
$angles
)
# First turn step of each stretch between jumps, and for each output there: what is added to the
# direction in radians, what it follows (0 nothing, 1 the leading wheel, 2 all wheels of its motor),
# and the sign of the trail's part.
_${p}_STARTS = $starts
_${p}_PIECES = (
$pieces
)
%if group
# For each stretch and output that follows all its wheels: numbers of a quadratic of 1 - |s| and s.
_${p}_GROUPS = (
$groups
)
%end
%end
%if formula drive
# Each drive motor's wheels: weight, ax, ay, ey, direction straight ahead in radians, the steering
# output that turns it (-1 for none), and its ratio there.
_${p}_ROLLINGS = (
$rollings
)
%end


def _${p}_divided(number, by):
    if number < 0:
        return -((by // 2 - number) // by)
    return (number + by // 2) // by
%if formula


def _${p}_nearest(number):
    return -int(0.5 - number) if number < 0 else int(number + 0.5)
%end
%if table


def _${p}_number(data, i):
%if wide
    number = data[i] | data[i + 1] << 8 | data[i + 2] << 16
    return number | (data[i + 3] - 256 if data[i + 3] > 127 else data[i + 3]) << 24
%end
%if !wide
    return data[i] | (data[i + 1] - 256 if data[i + 1] > 127 else data[i + 1]) << 8
%end
%if free


def _${p}_node(i):
%if wide_turn
    number = _${p}_NODES[i] | _${p}_NODES[i + 1] << 8 | _${p}_NODES[i + 2] << 16
    top = _${p}_NODES[i + 3]
    return number | (top - 256 if top > 127 else top) << 24
%end
%if !wide_turn
    top = _${p}_NODES[i + 1]
    return _${p}_NODES[i] | (top - 256 if top > 127 else top) << 8
%end
%end
%end


class ${p}_controller:
    def __init__(self):
        # Turn steps, ${turn_one} for an input of 1.
        self.step = 0
        self.steer = [0] * $steers
        self.speed = [0] * $speeds
%if hold
        self.holding = False
%end
%if columns
        self._wanted = [0] * $columns
%if formula steer
        self._angle = [0.0] * $steers
%end
        self._look()
%end
%if place
        # Where each motor is taken to be, straight ahead at first.
        self._at = self._wanted[:$steers]
        self._rest = [0] * $steers
%end
%if steer
        for k in range($steers):
            self.steer[k] = self._wanted[k]
%end
%if mixing

%if hold
    def stick(self, throttle, turn, ms, measured=None):
%end
%if !hold
    def stick(self, throttle, turn, ms):
%end
        if throttle != throttle or turn != turn:
            throttle = turn = 0
        throttle = self._input(throttle)
        turn = self._input(turn)
        left = throttle - turn
        right = throttle + turn
        most = max(abs(left), abs(right))
        if most > 1000:
            left = _${p}_divided(left * 1000, most)
            right = _${p}_divided(right * 1000, most)
%if hold
        return self._sides(left, right, ms, measured)
%end
%if !hold
        return self._sides(left, right, ms)
%end
%end

%if hold
    def drive(self, left, right, ms, measured=None):
%end
%if !hold
    def drive(self, left, right, ms):
%end
        # Only what is not a number is unlike itself.
        if left != left or right != right:
            left = right = 0
%if hold
        return self._sides(self._input(left), self._input(right), ms, measured)
%end
%if !hold
        return self._sides(self._input(left), self._input(right), ms)
%end

    def _input(self, value):
        value = max(-1000, min(1000, value))
        if type(value) is not int:
            value = _${p}_divided(int(2 * value), 2)
%if dead_band
        if -$dead <= value <= $dead:
            return 0
%end
        return value

%if hold
    def _sides(self, left, right, ms, measured):
%end
%if !hold
    def _sides(self, left, right, ms):
%end
        fast = max(abs(left), abs(right))
        sense = -1 if left + right < 0 else 1
        if fast:
            step = _${p}_divided(sense * (right - left) * $turn_one, 2 * fast)
            self.step = max(-$last, min($last, step))
%if columns
        wanted = self._wanted
        self._look()
%end
%if place
        # In this order 0 comes out where ms is not a number.
        self._move(int(max(0, min(ms, 1000))))
%end
%if steer
        for k in range($steers):
%if limiter
            self.steer[k] = self._at[k]
%end
%if !limiter
            self.steer[k] = wanted[k]
%end
%end
%if hold
        places = self._at if measured is None else measured
        self.holding = False
        for k in range($steers):
            if not abs(places[k] - wanted[k]) <= _${p}_WITHIN[k]:
                self.holding = True
%end
%if drive scaling
        for d in range($speeds):
            full = abs(wanted[$steers + d])
            if full * fast > _${p}_TOP[d] * 1000:
                fast = _${p}_TOP[d] * 1000 // full
%end
%if hold
        if self.holding:
            fast = fast * $creep // 1000
%end
%if drive
        for d in range($speeds):
            self.speed[d] = _${p}_divided(wanted[$steers + d] * sense * fast, 1000)
%end
%if !drive
        slow = _${p}_divided(sense * fast * ($turn_one - 2 * abs(self.step)), $turn_one)
        self.speed[0] = slow if self.step > 0 else sense * fast
        self.speed[1] = sense * fast if self.step > 0 else slow
%end
        return self.steer, self.speed
%if place

    def _move(self, ms):
        for k in range($steers):
            way = self._wanted[k] - self._at[k]
            budget = self._rest[k] + _${p}_RATE[k] * ms
            most = budget // 1000
            if abs(way) <= most:
                self._at[k] = self._wanted[k]
                self._rest[k] = 0
            else:
                self._at[k] += most if way > 0 else -most
                self._rest[k] = budget % 1000
%end
%if table

    def _look(self):
        q = self.step
%if even
        first, width, row = _${p}_SEGMENTS[0]
        for segment in _${p}_SEGMENTS:
            if segment[0] > q:
                break
            first, width, row = segment
        past = (q - first) % width
        row += (q - first) // width
%end
%if free
        row = 0
        high = $rows - 1
        while row < high:
            middle = (row + high + 1) // 2
            if _${p}_node(middle * $turn_bytes) <= q:
                row = middle
            else:
                high = middle - 1
        here = _${p}_node(row * $turn_bytes)
        past = q - here
        width = _${p}_node((row + 1) * $turn_bytes) - here if past else 1
%end
        for c in range($columns):
            i = (row * $columns + c) * $value_bytes
            value = _${p}_number(_${p}_VALUES, i)
            if past:
                rise = _${p}_number(_${p}_VALUES, i + $columns * $value_bytes) - value
                if rise < 0:
                    value -= (-rise * past + width // 2) // width
                else:
                    value += (rise * past + width // 2) // width
            shift = _${p}_SHIFT[c]
%if coarse
            if shift < 0:
                value <<= -shift
%end
            if shift > 0:
                half = 1 << shift - 1
                value = -((half - value) >> shift) if value < 0 else (value + half) >> shift
            self._wanted[c] = value
%end
%if formula

    def _look(self):
%if moving
        s = self.step / $turn_one
        ahead = 1 - abs(s)
%end
%if steer
        part = 0
        while part + 1 < len(_${p}_STARTS) and _${p}_STARTS[part + 1] <= self.step:
            part += 1
        for k in range($steers):
            ax, ay, ex, ratio, low, high, told, per = _${p}_ANGLES[k]
            angle, follows, lead = _${p}_PIECES[part][k]
%if group
            if follows == 2:
                a, b, c, d, e, f = _${p}_GROUPS[part][k]
                re = (a * ahead + b * s) * ahead + c * s * s
                im = (d * ahead + e * s) * ahead + f * s * s
                angle += atan2(im, re) / 2
%end
%if lead
            if follows == 1:
                vx = ahead + s * ax
                vy = s * ay
                angle += atan2(vy, vx)
%end
%if trail
                speed = sqrt(vx * vx + vy * vy)
                if speed > 0:
                    angle += lead * asin(max(-1.0, min(1.0, s * ex / speed)))
%end
            angle = max(low, min(high, angle / ratio))
            self._angle[k] = angle
            self._wanted[k] = _${p}_nearest(told + per * angle)
%end
%if drive
        for d in range($speeds):
            full = 0.0
            for weight, ax, ay, ey, angle, k, ratio in _${p}_ROLLINGS[d]:
                if k >= 0:
                    angle += ratio * self._angle[k]
                full += weight * ((ahead + s * ax) * cos(angle) + s * ay * sin(angle) - s * ey)
            self._wanted[$steers + d] = _${p}_nearest(full)
%end
%end
%if clamp
        for k in range($steers):
            self._wanted[k] = max(_${p}_LOW[k], min(_${p}_HIGH[k], self._wanted[k]))
%end
"""
