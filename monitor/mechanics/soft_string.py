"""Soft string in a surveyed hole: tension from the bit up, all bit depths at once.

The force balance of Johancsik, Friesen and Dawson on arcs in space, by the midpoint rule.
What it is used for, and its limits, stand in `monitor.mechanics.drag`.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from monitor.mechanics.pipe import buoyancy_factor
from monitor.mechanics.reeving import Numeric
from monitor.mechanics.survey import WellPath, direction_at, vertical_depth_m
from monitor.rig.rig import Section

Array = NDArray[np.float64]

LONGEST_ELEMENT_m = 30.0


@dataclass(frozen=True, slots=True, eq=False)
class Hole:
    """The hole as the string feels it."""

    path: WellPath
    mud_density_kg_m3: float | None = None  # None: weights in air
    casing_shoe_m: float | None = None  # measured depth; None: one friction factor everywhere


@dataclass(frozen=True, slots=True, eq=False)
class _Elements:
    """The hole cut into short arcs; what an arc does to any string that passes it."""

    node_m: Array  # measured depth, one more than elements
    vertical_m: Array  # vertical depth of the nodes
    bend_rad: Array
    normal_down: Array  # downward part of the arc's normal; straight: minus the sine below
    remainder: Array  # squared sine of the inclination at the middle less the square of that


def _side_geometry(path: WellPath, upper_m: Array, lower_m: Array) -> tuple[Array, Array, Array]:
    """Bend, downward part of the normal, and the remainder, of short arcs."""
    down = [np.cos(direction_at(path, depth)[0]) for depth in (upper_m, lower_m)]
    arc = np.clip(np.searchsorted(path.depth_m, upper_m, "right") - 1, 0, None)
    curvature = np.append(path.dogleg_rad / np.diff(path.depth_m), 0.0)[arc]
    bend = curvature * (lower_m - upper_m)
    across = np.sin(direction_at(path, (upper_m + lower_m) / 2)[0])
    is_bent = bend > 1e-12
    chord = np.where(is_bent, 2 * np.sin(bend / 2), 1.0)
    normal_down = np.where(is_bent, (down[1] - down[0]) / chord, -across)
    return bend, normal_down, np.maximum(across**2 - normal_down**2, 0.0)


def _elements(path: WellPath, deepest_m: float, longest_m: float, shoe_m: float) -> _Elements:
    """Cut at every station and at the shoe; the cuts do not depend on the bit depths."""
    deepest_m = max(deepest_m, 1.0)  # one element at least
    if not longest_m > 0.0:
        raise ValueError(f"longest_element_m is {longest_m}; must be above 0")
    corner = path.depth_m
    if 0.0 < shoe_m < math.inf:
        corner = np.union1d(corner, [shoe_m])
    pieces = [
        np.linspace(upper, lower, math.ceil((lower - upper) / longest_m), endpoint=False)
        for upper, lower in zip(corner[:-1], corner[1:], strict=True)
        if upper < deepest_m
    ]
    beyond = max(math.ceil((deepest_m - corner[-1]) / longest_m), 0)
    node = np.concatenate([*pieces, corner[-1] + longest_m * np.arange(beyond + 1)])
    node = node[: int(np.searchsorted(node, deepest_m, "left")) + 1]
    return _Elements(
        node, vertical_depth_m(path, node), *_side_geometry(path, node[:-1], node[1:])
    )


@dataclass(frozen=True, slots=True, eq=False)
class _String:
    """Where the sections of the string lie in the hole, for each bit depth."""

    weight_N_m: Array  # of each section, in mud
    bound_m: Array  # sections x bits: lower end of each section
    bound_vertical_m: Array

    def weights_N(
        self, bit: NDArray[np.intp], upper: tuple[Array, Array], lower: tuple[Array, Array]
    ) -> tuple[Array, Array]:
        """Weight of what lies between two depths, and how much of it hangs, exactly.

        A depth comes as measured and vertical depth.
        """
        bound, vertical = self.bound_m[:, bit], self.bound_vertical_m[:, bit]
        vertical = np.where(bound >= lower[0], lower[1], vertical)
        vertical = np.where(bound <= upper[0], upper[1], vertical)
        bound = np.minimum(np.maximum(bound, upper[0]), lower[0])
        length = np.diff(-bound, axis=0, append=-upper[0][None])
        height = np.diff(-vertical, axis=0, append=-upper[1][None])
        weight = self.weight_N_m[:, None]
        return (weight * length).sum(axis=0), (weight * height).sum(axis=0)

    def per_length_N_m(self, bit: NDArray[np.intp], depth_m: Array) -> Array:
        """Weight per length just above a depth."""
        n_below = (self.bound_m[1:, bit] > depth_m).sum(axis=0)
        return np.asarray(self.weight_N_m[n_below])


def _string(sections: Sequence[Section], buoyancy: float, path: WellPath, bit_m: Array) -> _String:
    """Lay the sections along the hole from the bit upwards."""
    if not sections:
        raise ValueError("sections is empty; at least one section is needed")
    bounds, weights = [bit_m], []
    for section in sections:
        weights.append(section.weight_in_air_N_m * buoyancy)
        if section.length_m is None:
            break
        bounds.append(bounds[-1] - section.length_m)
    bound = np.stack(bounds[: len(weights)])
    return _String(np.array(weights), bound, vertical_depth_m(path, np.maximum(bound, 0.0)))


def _pull(
    string: _String,
    path: WellPath,
    bit_m: Array,
    friction: Array,
    weight_on_bit_N: float,
    cut: _Elements,
    shoe_m: float,
    profile: list[Array] | None = None,
) -> Array:
    """Tension at depth 0 for rising bit depths; `friction` is 2 x cases: cased, open; signed.

    From the bit up, each element for all bits and cases at once, by the midpoint rule.
    """
    node, vertical, bits = cut.node_m, cut.vertical_m, np.arange(len(bit_m))
    last = np.maximum(np.searchsorted(node, bit_m, "left") - 1, 0)
    is_open = node[:-1] >= shoe_m
    # The lowest element of each bit is cut off at the bit.
    at_bit = (bit_m, string.bound_vertical_m[0])
    weight, rise = string.weights_N(bits, (node[last], vertical[last]), at_bit)
    factors = np.where(is_open[last], friction[1][:, None], friction[0][:, None])
    tension = np.full((friction.shape[1], len(bit_m)), -float(weight_on_bit_N))
    _climb(tension, weight, rise, factors, _side_geometry(path, node[last], bit_m))
    if profile is not None:
        profile.append(tension[:, 0].copy())
    # Above it an element is of one weight per length but where a section ends in it.
    per_length = string.per_length_N_m(bits, node[last])
    ends, bit = np.nonzero((string.bound_m[1:] <= node[last]) & (string.bound_m[1:] > 0.0))
    element = np.searchsorted(node, string.bound_m[1:][ends, bit], "left") - 1
    order = np.argsort(element, kind="stable")
    element, bit = element[order], bit[order]
    upper, lower = (node[element], vertical[element]), (node[element + 1], vertical[element + 1])
    mixed_weight, mixed_rise = string.weights_N(bit, upper, lower)
    new_per_length = string.per_length_N_m(bit, upper[0])
    event = np.searchsorted(element, np.arange(len(node)))
    first = np.searchsorted(last, np.arange(len(node)), "right")
    length, height = np.diff(node), np.diff(vertical)
    sides = list(zip(cut.bend_rad, cut.normal_down, cut.remainder, strict=True))
    for k in range(int(last[-1]) - 1, -1, -1):
        weight, rise = per_length * length[k], per_length * height[k]
        if event[k] < event[k + 1]:
            here = slice(event[k], event[k + 1])
            weight[bit[here]], rise[bit[here]] = mixed_weight[here], mixed_rise[here]
            per_length[bit[here]] = new_per_length[here]
        a = first[k]
        _climb(tension[:, a:], weight[a:], rise[a:], friction[int(is_open[k])][:, None], sides[k])
        if profile is not None:
            profile.append(tension[:, 0].copy())
    return tension


def _climb(
    tension: Array, weight: Array, rise: Array, friction: Array, side: tuple[Numeric, ...]
) -> None:
    """Take the tension, in place, from the lower end of an element to its upper end.

    The element's force against the wall is F b n + W k, where b is the bend, n the arc's
    normal and k the down direction across the hole: its size is
    sqrt((F b + W n_down)^2 + W^2 (across^2 - n_down^2)).
    """
    bend, normal_down, remainder = side
    lift = weight * normal_down
    rest = weight * weight * remainder
    force = tension * bend
    force += lift
    np.square(force, out=force)
    force += rest
    np.sqrt(force, out=force)
    force *= 0.5 * friction
    force += 0.5 * rise
    force += tension  # at the middle of the element
    force *= bend
    force += lift
    np.square(force, out=force)
    force += rest
    np.sqrt(force, out=force)
    force *= friction
    tension += force
    tension += rise


def _friction_cases(
    friction_factor: Numeric, sign: float, cased: Numeric | None
) -> tuple[Array, tuple[int, ...]]:
    """Cased and open signed factors, a column a case, and the shape of the cases."""
    open_hole = np.asarray(friction_factor, dtype=np.float64)
    cased_hole = open_hole if cased is None else np.asarray(cased, dtype=np.float64)
    cased_hole, open_hole = np.broadcast_arrays(cased_hole, open_hole)
    return sign * np.stack((cased_hole.ravel(), open_hole.ravel())), open_hole.shape


def _checked(hole: Hole, weight_on_bit_N: float) -> tuple[float, float]:
    """Buoyancy and the depth below which the hole is open."""
    if math.isinf(weight_on_bit_N):
        raise ValueError(f"weight_on_bit_N is {weight_on_bit_N}; must be finite")
    density = hole.mud_density_kg_m3
    buoyancy = 1.0 if density is None else buoyancy_factor(density)
    return buoyancy, 0.0 if hole.casing_shoe_m is None else hole.casing_shoe_m


def floor_tension_N(
    sections: Sequence[Section],
    hole: Hole,
    bit_depth_m: Numeric,
    friction_factor: Numeric,
    sign: float,
    *,
    cased_friction_factor: Numeric | None = None,
    weight_on_bit_N: float = 0.0,
    longest_element_m: float = LONGEST_ELEMENT_m,
) -> Array:
    """Tension of the string at the rig floor, for all depths and friction factors.

    Parameters
    ----------
    sections : sequence of Section
        The string from the bit upwards, at least one. [-]
    hole : Hole
        Path, mud and casing shoe. [-]
    bit_depth_m : float or ndarray
        Measured bit depths, any shape and order. [m]
    friction_factor : float or ndarray
        In the open hole, or in all of it; any sign, so that a fit may pass through 0. [-]
    sign : float
        +1 hoisting, -1 lowering. [-]
    cased_friction_factor : float, ndarray or None
        Above the casing shoe; None: as in the open hole. [-]
    weight_on_bit_N : float
        Force of the bottom on the bit. [N]
    longest_element_m : float
        Longest piece of hole that is worked in one step, above 0. [m]

    Returns
    -------
    ndarray
        Shape of the factors followed by the shape of the depths. [N]

    Raises
    ------
    ValueError
        For a string without sections, an infinite depth or force, a step not above 0.

    Notes
    -----
    dF/ds = w cos I + sign f N from the bit up, N = |F b n + w k|: bend b per length about
    the normal n, k the down direction across the hole. The part without friction is exact;
    the contact force is taken at the middle of each element, with the weight inside one
    spread over it: with 30 m elements 0.2 kN off in the mean and 2.5 kN at worst in a hole
    that wanders by 1 deg between stations. Each row is worked by itself
    on cuts that do not depend on the other rows, so that cutting an array changes no bit.

    Examples
    --------
    >>> from monitor.mechanics.survey import well_path
    >>> pipe = Section("drill pipe", None, 0.127, 0.1086, 330.0)
    >>> floor_tension_N([pipe], Hole(well_path(())), [0.0, 100.0], 0.2, 1.0).tolist()
    [0.0, 33000.0]

    References
    ----------
    .. [1] Johancsik, Friesen, Dawson, Torque and Drag in Directional Wells, JPT, June 1984,
       987-992 (SPE 11380); abstract looked up, equations from memory. Here in vector form.
    """
    buoyancy, shoe = _checked(hole, weight_on_bit_N)
    depth = np.asarray(bit_depth_m, dtype=np.float64)
    if np.any(np.isinf(depth)):
        raise ValueError("bit_depth_m is infinite; must be finite")
    flat = np.maximum(depth.ravel(), 0.0)
    order = np.argsort(flat, kind="stable")[: np.count_nonzero(~np.isnan(flat))]
    friction, shape = _friction_cases(friction_factor, sign, cased_friction_factor)
    out = np.full((friction.shape[1], flat.size), math.nan)
    bit = flat[order]
    string = _string(sections, buoyancy, hole.path, bit)
    if order.size:
        cut = _elements(hole.path, float(bit[-1]), longest_element_m, shoe)
        out[:, order] = _pull(string, hole.path, bit, friction, weight_on_bit_N, cut, shoe)
    return out.reshape(shape + depth.shape)


def tension_along_N(
    sections: Sequence[Section],
    hole: Hole,
    bit_depth_m: float,
    friction_factor: float,
    sign: float,
    *,
    cased_friction_factor: float | None = None,
    weight_on_bit_N: float = 0.0,
    longest_element_m: float = LONGEST_ELEMENT_m,
) -> tuple[Array, Array]:
    """Tension along the string at one bit depth.

    Parameters
    ----------
    sections, hole, friction_factor, sign, cased_friction_factor, weight_on_bit_N, \
longest_element_m
        As `floor_tension_N`, one value each. [-]
    bit_depth_m : float
        Measured bit depth, at least 0 and finite. [m]

    Returns
    -------
    tuple of ndarray
        Measured depths from the bit up to 0 [m], and the tension there [N].

    Raises
    ------
    ValueError
        As `floor_tension_N`, and for a bit depth below 0.

    Notes
    -----
    As `floor_tension_N`.

    Examples
    --------
    >>> from monitor.mechanics.survey import well_path
    >>> pipe = Section("drill pipe", None, 0.127, 0.1086, 330.0)
    >>> depth, tension = tension_along_N([pipe], Hole(well_path(())), 50.0, 0.2, 1.0)
    >>> depth.tolist(), tension.tolist()
    ([50.0, 30.0, 0.0], [0.0, 6600.0, 16500.0])

    References
    ----------
    .. [1] As `floor_tension_N`.
    """
    buoyancy, shoe = _checked(hole, weight_on_bit_N)
    if not 0.0 <= bit_depth_m < math.inf:
        raise ValueError(f"bit_depth_m is {bit_depth_m}; must be at least 0 and finite")
    bit = np.array([bit_depth_m], dtype=np.float64)
    friction, _ = _friction_cases(friction_factor, sign, cased_friction_factor)
    cut = _elements(hole.path, bit_depth_m, longest_element_m, shoe)
    string = _string(sections, buoyancy, hole.path, bit)
    profile: list[Array] = []
    _pull(string, hole.path, bit, friction, weight_on_bit_N, cut, shoe, profile)
    depth = np.append(bit, cut.node_m[len(profile) - 1 :: -1])
    return depth, np.concatenate(([-float(weight_on_bit_N)], *profile))
