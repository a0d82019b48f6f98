"""Axes, signs and units: the page that everything else relies on.

Body frame after ISO 8855:2011: x forward, y to the left; yaw and steer angles count
counter-clockwise seen from above, so a positive angle steers to the left.

Models carry the unit in the name of each field (``x_mm``, ``toe_deg``), because they are
what the person types and what the file holds. Arrays are millimetres and radians
throughout. Degrees become radians where a design becomes numbers, and nowhere else:
`wheel_arrays.wheel_arrays` for the wheels, `as_built.motor_arrays` for the motors.

Array shapes: commands along the first axis (M), wheels along the last (N).
A motion is a twist ``(vx, vy, omega)``: the velocity of the body's origin and the yaw rate.
"""

from __future__ import annotations

from typing import Any

import numpy as np
import numpy.typing as npt

Floats = npt.NDArray[np.float64]
Bools = npt.NDArray[np.bool_]
Ints = npt.NDArray[np.int8]


def wrap(angle: npt.ArrayLike) -> Floats:
    """Bring angles into (-pi, pi].

    Parameters
    ----------
    angle : array_like, any shape
        Angles [rad].

    Returns
    -------
    ndarray, same shape
        The same directions within (-pi, pi] [rad].

    Examples
    --------
    >>> wrap([0.0, np.pi, -np.pi, 1.5 * np.pi]) / np.pi
    array([ 0. ,  1. ,  1. , -0.5])
    """
    a = np.asarray(angle, dtype=np.float64)
    return np.asarray(a - 2.0 * np.pi * np.ceil((a - np.pi) / (2.0 * np.pi)))


def rolling_direction(heading: npt.ArrayLike) -> tuple[Floats, Floats]:
    """Unit vector along which a wheel rolls.

    Parameters
    ----------
    heading : array_like, any shape
        Wheel headings from straight ahead, counter-clockwise positive [rad].

    Returns
    -------
    (tx, ty) : ndarrays, same shape
        Components forward and to the left. The wheel's left normal, which is the
        direction of its axle line, is ``(-ty, tx)``.

    Examples
    --------
    >>> rolling_direction(0.0)
    (array(1.), array(0.))
    """
    angle = np.asarray(heading, dtype=np.float64)
    return np.asarray(np.cos(angle)), np.asarray(np.sin(angle))


def frozen_array(values: Any, dtype: npt.DTypeLike = np.float64) -> npt.NDArray[Any]:
    """Return the values as a read-only array, so that a result can be shared without a copy."""
    array = np.asarray(values, dtype=dtype)
    array.setflags(write=False)
    return array
