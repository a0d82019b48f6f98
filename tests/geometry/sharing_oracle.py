"""One steer motor for all steered wheels, worked out afresh: shaft angles by search, and pseudo-inverses."""

from __future__ import annotations

import numpy as np

from geometry.model.design import Design

SHAFTS = np.linspace(-np.pi, np.pi, 361)


def twists(turn: np.ndarray, half_track: float, base_x: float) -> np.ndarray:
    """Motions of turn inputs with reference wheels at +-half_track."""
    omega = turn / half_track
    return np.stack([1.0 - np.abs(turn), -omega * base_x, omega], axis=1)


class OneMotor:
    """The drag of a chassis whose steered wheels all hang on one motor, for many patterns of ratios."""

    def __init__(self, design: Design, twist: np.ndarray) -> None:
        wheels = design.wheels
        self.twist = twist
        self.x, self.y = np.array([w.x_mm for w in wheels]), np.array([w.y_mm for w in wheels])
        self.ahead = -np.array([w.trail_mm for w in wheels])
        self.width = np.array([w.width_mm for w in wheels])
        self.diameter = np.array([w.diameter_mm for w in wheels])
        self.load = np.array([w.load_share for w in wheels]) / sum(w.load_share for w in wheels)
        self.driven = np.array([w.driven for w in wheels])
        self.held = [i for i, w in enumerate(wheels) if w.kind == "steered"]
        self.low, self.high = (
            np.radians([getattr(w, f"travel_{end}_deg") for w in wheels]) for end in ("min", "max")
        )
        self.yaw_off = 0.0  # of the last pattern, as share of the largest yaw rate
        self.grid: dict[tuple[int, float], np.ndarray] = {}

    def squares(self, i: int, ratio: float) -> np.ndarray:
        """Weighted squares of wheel i over SHAFTS, (M, Q), kept for the next pattern."""
        if (i, ratio) not in self.grid:
            angle = np.repeat(ratio * SHAFTS[None], len(self.twist), axis=0)
            inside = (angle >= self.low[i] - 1e-9) & (angle <= self.high[i] + 1e-9)
            self.grid[i, ratio] = np.where(inside, self.load[i] * self.sideways(i, angle) ** 2, np.inf)
        return self.grid[i, ratio]

    def sideways(self, i: int, angle: np.ndarray) -> np.ndarray:
        """Sideways speed of wheel i under the wanted motions; the turns lie along axis 0 of its angles."""
        vx, vy, omega = self.twist.T.reshape(3, -1, *[1] * (angle.ndim - 1))
        sideways = (vy + omega * self.x[i]) * np.cos(angle) - (vx - omega * self.y[i]) * np.sin(angle)
        return np.asarray(sideways + omega * self.ahead[i])

    def shaft(self, pattern: np.ndarray) -> np.ndarray:
        """Shaft angles (M,): the best of a grid, then of finer and finer ones about it."""
        low = np.minimum(self.low[self.held] / pattern, self.high[self.held] / pattern).max()
        high = np.maximum(self.low[self.held] / pattern, self.high[self.held] / pattern).min()
        total = sum(self.squares(i, r) for i, r in zip(self.held, pattern, strict=True))
        best = np.clip(SHAFTS[np.asarray(total).argmin(axis=1)][:, None], low, high)
        width = SHAFTS[1] - SHAFTS[0]
        for _ in range(12):
            tried = np.clip(best + width * np.linspace(-1.0, 1.0, 9), low, high)
            total = sum(
                self.load[i] * self.sideways(i, r * tried) ** 2
                for i, r in zip(self.held, pattern, strict=True)
            )
            best = np.take_along_axis(tried, np.asarray(total).argmin(axis=1)[:, None], axis=1)
            width *= 0.3
        return np.asarray(best[:, 0])

    def drag(self, pattern: np.ndarray) -> np.ndarray:
        """Drag (M, N) under the motion that follows; 0 where a wheel pivots [mm/m]."""
        heading = np.zeros((len(self.twist), len(self.x)))
        heading[:, self.held] = self.shaft(pattern)[:, None] * pattern
        c, s = np.cos(heading), np.sin(heading)
        x, y = self.x + self.ahead * c, self.y + self.ahead * s
        across, along = np.stack([-s, c, x * c + y * s], -1), np.stack([c, s, x * s - y * c], -1)
        root = np.sqrt(self.load)
        rolling = np.einsum("mnj,mj->mn", along, self.twist)
        rows = np.concatenate([across * root[:, None], (along * root[:, None])[:, self.driven]], axis=1)
        wanted = np.concatenate([0.0 * rolling, (rolling * root)[:, self.driven]], axis=1)
        scale = np.array([1.0, 1.0, 0.01])
        twist = scale * np.einsum("mjr,mr->mj", np.linalg.pinv(rows * scale), wanted)
        self.yaw_off = float(np.abs(twist[:, 2] - self.twist[:, 2]).max() / np.abs(self.twist[:, 2]).max())
        side, roll = (np.einsum("mnj,mj->mn", part, twist) for part in (across, along))
        speed = np.hypot(side, roll)
        rate = np.abs(twist[:, 2:])
        pivots = (speed < 0.5 * self.width * rate) & (np.abs(side) <= 0.05 * self.diameter * rate)
        return np.where(pivots, 0.0, 1000.0 * np.abs(side) / np.maximum(speed, 1e-300))
