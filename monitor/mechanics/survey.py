"""The surveyed path of the hole: where it runs and which way it points.

Minimum curvature: between two stations the path is an arc of a circle in space. Errors of
the survey itself are not in it.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from monitor.mechanics.reeving import Numeric
from monitor.rig.rig import SurveyStation

Array = NDArray[np.float64]


@dataclass(frozen=True, slots=True, eq=False)
class WellPath:
    """Stations from the surface down, with what follows from them; made by `well_path`."""

    depth_m: Array  # measured depth of each station, the first at 0
    tangent: Array  # unit vector down the hole at each station: north, east, down
    position_m: Array  # north, east, down from the surface
    dogleg_rad: Array  # between each station and the next, one fewer than stations

    @property
    def is_vertical(self) -> bool:
        """Whether no station leaves the vertical."""
        return bool(np.all(self.tangent[:, 2] == 1.0))


def dogleg_rad(
    inclination_1_rad: Numeric, azimuth_1_rad: Numeric,
    inclination_2_rad: Numeric, azimuth_2_rad: Numeric,
) -> Array:  # fmt: skip
    """Angle between the directions of the hole at two stations.

    Parameters
    ----------
    inclination_1_rad, azimuth_1_rad : float or ndarray
        Direction at one station. [rad]
    inclination_2_rad, azimuth_2_rad : float or ndarray
        Direction at the other. [rad]

    Returns
    -------
    ndarray
        Dogleg, 0 to pi. [rad]

    Notes
    -----
    cos b = cos(I2 - I1) - sin I1 sin I2 (1 - cos(A2 - A1)), in its half-angle form, which
    keeps its digits where the dogleg is small.

    Examples
    --------
    15 deg at 20 deg to 25 deg at 45 deg: 12.95 deg is published.

    >>> degree = math.pi / 180
    >>> float(dogleg_rad(15 * degree, 20 * degree, 25 * degree, 45 * degree) / degree)
    12.95

    References
    ----------
    .. [1] Minimum curvature method as printed in drilling formula collections; looked up.
    """
    half = (
        np.sin((np.asarray(inclination_2_rad) - inclination_1_rad) / 2) ** 2
        + np.sin(inclination_1_rad)
        * np.sin(inclination_2_rad)
        * np.sin((np.asarray(azimuth_2_rad) - azimuth_1_rad) / 2) ** 2
    )
    return np.asarray(2 * np.arcsin(np.sqrt(np.clip(half, 0.0, 1.0))))


def ratio_factor(dogleg_rad: Numeric) -> Array:
    """Factor by which an arc lies along the mean of its two end directions.

    Parameters
    ----------
    dogleg_rad : float or ndarray
        Dogleg of the arc, at least 0 and below pi. [rad]

    Returns
    -------
    ndarray
        tan(b/2) / (b/2), 1 for a straight hole. [-]

    Raises
    ------
    ValueError
        For a dogleg outside that range.

    Notes
    -----
    Below 1e-4 rad the first terms of the series are taken.

    Examples
    --------
    >>> float(ratio_factor(0.2260489))
    1.00428

    References
    ----------
    .. [1] Derived from the circle; 1.00408 printed on one page for this example is a slip.
    """
    b = np.asarray(dogleg_rad, dtype=np.float64)
    if np.any((b < 0.0) | (b >= math.pi)):
        raise ValueError(f"dogleg_rad is {dogleg_rad}; must be at least 0 and below pi")
    is_small = b < 1e-4
    half = np.where(is_small, 1.0, b / 2)
    return np.where(is_small, 1.0 + b * b / 12, np.tan(half) / half)


def dogleg_severity_rad_m(path: WellPath) -> Array:
    """Dogleg per length between each station and the next.

    Parameters
    ----------
    path : WellPath
        The surveyed path. [-]

    Returns
    -------
    ndarray
        Curvature of each arc, one fewer than stations. [rad/m]

    Notes
    -----
    The trade prints it as degrees per 30 m or per 100 ft.

    Examples
    --------
    >>> build = (SurveyStation(0.0, 0.0, 0.0), SurveyStation(300.0, math.pi / 6, 0.0))
    >>> float(dogleg_severity_rad_m(well_path(build))[0] * 180 / math.pi * 30)
    3.0

    References
    ----------
    .. [1] Derived.
    """
    return path.dogleg_rad / np.diff(path.depth_m)


def well_path(stations: Sequence[SurveyStation]) -> WellPath:
    """Path of the hole from its survey stations.

    Parameters
    ----------
    stations : sequence of SurveyStation
        From the surface down; depth in [m], angles in [rad]. None at all: a vertical hole.

    Returns
    -------
    WellPath
        Directions [-] and positions [m] at the stations.

    Raises
    ------
    ValueError
        For a negative depth, depths that do not increase, an inclination outside 0 to pi, or
        two stations that point in opposite directions.

    Notes
    -----
    The hole starts vertical at depth 0, so without a station there the first one is
    reached on an arc. Below the last station it runs straight on. A path made once serves
    any number of calls.

    Examples
    --------
    A quarter circle of 3000 ft ends 1909.86 ft down and as far north:

    >>> quarter = (SurveyStation(0.0, 0.0, 0.0), SurveyStation(3000.0, math.pi / 2, 0.0))
    >>> well_path(quarter).position_m[-1].round(4).tolist()
    [1909.8593, 0.0, 1909.8593]

    References
    ----------
    .. [1] Minimum curvature method; derived from the circle.
    """
    for number, station in enumerate(stations, 1):
        if not 0.0 <= station.inclination_rad <= math.pi:
            if not math.isnan(station.inclination_rad):
                raise ValueError(
                    f"inclination_rad of station {number} is {station.inclination_rad}; "
                    "must be 0 to pi"
                )
    depth = np.array([station.depth_m for station in stations], dtype=np.float64)
    inclination = np.array([station.inclination_rad for station in stations], dtype=np.float64)
    azimuth = np.array([station.azimuth_rad for station in stations], dtype=np.float64)
    if not len(depth) or depth[0] != 0.0:
        depth, inclination = np.insert(depth, 0, 0.0), np.insert(inclination, 0, 0.0)
        azimuth = np.insert(azimuth, 0, azimuth[0] if len(azimuth) else 0.0)
    if np.any(np.diff(depth) <= 0.0):
        number = int(np.argmax(np.diff(depth) <= 0.0))
        raise ValueError(
            f"depth_m {depth[number + 1]} follows {depth[number]}; depths must be at least 0 "
            "and increase"
        )
    tangent = np.stack(
        (
            np.sin(inclination) * np.cos(azimuth),
            np.sin(inclination) * np.sin(azimuth),
            np.cos(inclination),
        ),
        axis=1,
    )
    bend = dogleg_rad(inclination[:-1], azimuth[:-1], inclination[1:], azimuth[1:])
    step = np.diff(depth) / 2 * ratio_factor(bend)
    steps = step[:, None] * (tangent[:-1] + tangent[1:])
    position = np.concatenate((np.zeros((1, 3)), np.cumsum(steps, axis=0)))
    return WellPath(depth, tangent, position, bend)


def _at(path: WellPath, depth_m: Numeric) -> tuple[Array, Array]:
    """Tangents and positions at any depth, each with a last axis of north, east, down."""
    depth = np.asarray(depth_m, dtype=np.float64)
    if np.any(depth < 0.0):
        raise ValueError(f"depth_m is {np.nanmin(depth)}; must be at least 0")
    arc = np.clip(np.searchsorted(path.depth_m, depth, "right") - 1, 0, None)
    is_below = arc >= len(path.dogleg_rad)
    bend = np.append(path.dogleg_rad, 0.0)[arc]
    length = np.append(np.diff(path.depth_m), 1.0)[arc]
    along = depth - path.depth_m[arc]
    share = along / length
    upper, lower = path.tangent[arc], path.tangent[np.where(is_below, arc, arc + 1)]
    # Great circle between the end directions; straight where the bend is next to nothing.
    is_bent = bend > 1e-9
    sine = np.where(is_bent, np.sin(bend), 1.0)
    straight = np.where(np.isnan(share), math.nan, 1.0)
    from_upper = np.where(is_bent, np.sin((1 - share) * bend) / sine, straight)
    from_lower = np.where(is_bent, np.sin(share * bend) / sine, 0.0)
    tangent = from_upper[..., None] * upper + from_lower[..., None] * lower
    reach = along / 2 * ratio_factor(share * bend)
    return tangent, path.position_m[arc] + reach[..., None] * (upper + tangent)


def direction_at(path: WellPath, depth_m: Numeric) -> tuple[Array, Array]:
    """Inclination and azimuth of the hole at any measured depth.

    Parameters
    ----------
    path : WellPath
        The surveyed path. [-]
    depth_m : float or ndarray
        Measured depth, at least 0. [m]

    Returns
    -------
    tuple of ndarray
        Inclination 0 to pi and azimuth -pi to pi, of the shape of the depth. [rad]

    Raises
    ------
    ValueError
        For a negative depth.

    Notes
    -----
    On the arc between two stations; straight on below the last. Not-a-number in gives
    not-a-number.

    Examples
    --------
    >>> build = (SurveyStation(0.0, 0.0, 0.0), SurveyStation(300.0, math.pi / 6, 1.0))
    >>> [float(angle) for angle in direction_at(well_path(build), 150.0)]
    [0.2618, 1.0]

    References
    ----------
    .. [1] Derived: great circle between the two directions.
    """
    tangent, _ = _at(path, depth_m)
    across = np.hypot(tangent[..., 0], tangent[..., 1])
    azimuth = np.arctan2(tangent[..., 1], tangent[..., 0])
    return np.arctan2(across, tangent[..., 2]), azimuth


def position_at_m(path: WellPath, depth_m: Numeric) -> Array:
    """North, east and down of the hole at any measured depth.

    Parameters
    ----------
    path : WellPath
        The surveyed path. [-]
    depth_m : float or ndarray
        Measured depth, at least 0. [m]

    Returns
    -------
    ndarray
        Shape of the depth with a last axis of three: north, east, vertical depth. [m]

    Raises
    ------
    ValueError
        For a negative depth.

    Notes
    -----
    On the arc between two stations; straight on below the last. Not-a-number in gives
    not-a-number.

    Examples
    --------
    >>> build = (SurveyStation(0.0, 0.0, 0.0), SurveyStation(300.0, math.pi / 6, 0.0))
    >>> position_at_m(well_path(build), 300.0).round(3).tolist()
    [76.762, 0.0, 286.479]

    References
    ----------
    .. [1] Minimum curvature method; derived.
    """
    return _at(path, depth_m)[1]


def vertical_depth_m(path: WellPath, depth_m: Numeric) -> Array:
    """Vertical depth below the surface at any measured depth.

    Parameters
    ----------
    path : WellPath
        The surveyed path. [-]
    depth_m : float or ndarray
        Measured depth, at least 0. [m]

    Returns
    -------
    ndarray
        Vertical depth, of the shape of the measured depth. [m]

    Raises
    ------
    ValueError
        For a negative depth.

    Notes
    -----
    Third part of `position_at_m`.

    Examples
    --------
    >>> vertical_depth_m(well_path(()), np.array([0.0, 1000.0])).tolist()
    [0.0, 1000.0]

    References
    ----------
    .. [1] Minimum curvature method; derived.
    """
    return _at(path, depth_m)[1][..., 2]
