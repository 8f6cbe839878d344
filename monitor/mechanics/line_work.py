"""Work done by the drilling line, by the trip formulas of API RP 9B.

Written in SI from first principles: the formulas are the sum of hook load times block
travel, up and down, loaded and empty, over a trip. One ton-mile is 10 560 000 ft-lbf,
14.3174 MJ; the conversion stands with the other units.
"""

from __future__ import annotations

from monitor.mechanics.arguments import check_not_negative

CONNECTIONS = ("kelly", "top drive")


def round_trip_work_J(
    depth_m: float,
    stand_length_m: float,
    pipe_weight_N_m: float,
    travelling_weight_N: float,
    bottom_hole_assembly_excess_N: float,
) -> float:
    """Work of one round trip.

    Parameters
    ----------
    depth_m : float
        Depth of the hole. [m]
    stand_length_m : float
        Length of a stand. [m]
    pipe_weight_N_m : float
        Drill pipe in mud, per length. [N/m]
    travelling_weight_N : float
        Travelling equipment. [N]
    bottom_hole_assembly_excess_N : float
        Bottom-hole assembly in mud less the same length of drill pipe in mud. [N]

    Returns
    -------
    float
        Line work. [J]

    Raises
    ------
    ValueError
        For a negative depth, length or weight.

    Notes
    -----
    D (Ls + D) w + 4 D (M + C / 2). Printed with D, Ls in ft, weights in lb:
    D (Ls + D) Wm / 10 560 000 + D (M + C / 2) / 2 640 000, in ton-miles.

    Examples
    --------
    >>> round_trip_work_J(1000.0, 30.0, 300.0, 200e3, 100e3) / 1e6
    1309.0

    References
    ----------
    .. [1] API RP 9B, round-trip operations; from memory, same algebra looked up in three
       places.
    """
    check_not_negative(
        depth_m=depth_m,
        stand_length_m=stand_length_m,
        pipe_weight_N_m=pipe_weight_N_m,
        travelling_weight_N=travelling_weight_N,
    )
    return depth_m * (stand_length_m + depth_m) * pipe_weight_N_m + 4.0 * depth_m * (
        travelling_weight_N + bottom_hole_assembly_excess_N / 2.0
    )


def drilling_passes(n_reams: int, connection: str = "kelly") -> int:
    """Differences of round trips that drilling a section takes.

    Parameters
    ----------
    n_reams : int
        Times each length is reamed, at least 0. [-]
    connection : str
        ``"kelly"`` or ``"top drive"``. [-]

    Returns
    -------
    int
        Passes for `drilling_work_J`. [-]

    Raises
    ------
    ValueError
        For a negative number or another connection.

    Notes
    -----
    Kelly: 2 + reams. Drill ahead and pull up are counted as one round trip of the length,
    each reaming as one more, kelly and single as the rest. A top drive does not pull up and
    pick up a single: 1 + reams. All are on the safe side: strokes that carry empty gear are
    counted as loaded; integrate what was lifted for the truth.

    Examples
    --------
    >>> drilling_passes(0), drilling_passes(1), drilling_passes(2), drilling_passes(0, "top drive")
    (2, 3, 4, 1)

    References
    ----------
    .. [1] API RP 9B: 2, 3 and 4 for no, one and two reamings; a spreadsheet citing it, looked
       up. Top drive: derived by the same count of strokes.
    """
    if n_reams < 0:
        raise ValueError(f"n_reams is {n_reams}; must be at least 0")
    if connection not in CONNECTIONS:
        raise ValueError(f"connection is {connection!r}; must be kelly or top drive")
    return (2 if connection == "kelly" else 1) + n_reams


def drilling_work_J(
    round_trip_before_J: float,
    round_trip_after_J: float,
    passes: int = 3,
    n_reams: int | None = None,
    connection: str = "kelly",
) -> float:
    """Work of drilling between two depths.

    Parameters
    ----------
    round_trip_before_J : float
        Round-trip work at the depth where drilling began. [J]
    round_trip_after_J : float
        Round-trip work at the depth where it ended. [J]
    passes : int
        2 without reaming, 3 where each length is reamed once, 4 where twice. [-]
    n_reams : int, optional
        Times each length is reamed; given, it goes before `passes`. [-]
    connection : str
        ``"kelly"`` or ``"top drive"``, used with `n_reams`. [-]

    Returns
    -------
    float
        Line work. [J]

    Raises
    ------
    ValueError
        For passes other than 2, 3, 4, or a trip after that is less than before.

    Notes
    -----
    passes (T2 - T1), passes by `drilling_passes`.

    Examples
    --------
    >>> drilling_work_J(627.0, 858.5), drilling_work_J(627.0, 858.5, n_reams=0)
    (694.5, 463.0)

    References
    ----------
    .. [1] API RP 9B, drilling and coring operations; from memory.
    """
    if n_reams is not None:
        passes = drilling_passes(n_reams, connection)
    elif passes not in (2, 3, 4):
        raise ValueError(f"passes is {passes}; must be 2, 3 or 4")
    _check_rising(round_trip_before_J, round_trip_after_J)
    return passes * (round_trip_after_J - round_trip_before_J)


def _check_rising(round_trip_before_J: float, round_trip_after_J: float) -> None:
    if round_trip_after_J < round_trip_before_J:
        raise ValueError(
            f"round_trip_after_J is {round_trip_after_J}; must be at least "
            f"round_trip_before_J, {round_trip_before_J}"
        )


def coring_work_J(round_trip_before_J: float, round_trip_after_J: float) -> float:
    """Work of coring between two depths.

    Parameters
    ----------
    round_trip_before_J : float
        Round-trip work at the depth where coring began. [J]
    round_trip_after_J : float
        Round-trip work at the depth where it ended. [J]

    Returns
    -------
    float
        Line work. [J]

    Raises
    ------
    ValueError
        For a trip after that is less than before.

    Notes
    -----
    2 (T4 - T3): a core is not reamed.

    Examples
    --------
    >>> coring_work_J(190.0, 200.0)
    20.0

    References
    ----------
    .. [1] API RP 9B, coring operations; example of a drilling formulas site, looked up.
    """
    _check_rising(round_trip_before_J, round_trip_after_J)
    return 2.0 * (round_trip_after_J - round_trip_before_J)


def short_trip_work_J(round_trip_shallow_J: float, round_trip_deep_J: float) -> float:
    """Work of a short trip: out to a shallower depth and back.

    Parameters
    ----------
    round_trip_shallow_J : float
        Round-trip work at the shallower depth. [J]
    round_trip_deep_J : float
        Round-trip work at the deeper depth. [J]

    Returns
    -------
    float
        Line work. [J]

    Raises
    ------
    ValueError
        For a deeper trip that is less than the shallower.

    Notes
    -----
    T6 - T5.

    Examples
    --------
    >>> short_trip_work_J(627.0, 858.5)
    231.5

    References
    ----------
    .. [1] API RP 9B, short trip operations; from memory, the same difference looked up at a
       calculators' site.
    """
    _check_rising(round_trip_shallow_J, round_trip_deep_J)
    return round_trip_deep_J - round_trip_shallow_J


def casing_work_J(
    depth_m: float,
    joint_length_m: float,
    casing_weight_N_m: float,
    travelling_weight_N: float,
) -> float:
    """Work of setting a string of casing: one way, half a round trip.

    Parameters
    ----------
    depth_m : float
        Setting depth. [m]
    joint_length_m : float
        Length of a joint. [m]
    casing_weight_N_m : float
        Casing in mud, per length. [N/m]
    travelling_weight_N : float
        Travelling equipment. [N]

    Returns
    -------
    float
        Line work. [J]

    Raises
    ------
    ValueError
        For a negative depth, length or weight.

    Notes
    -----
    Half of `round_trip_work_J` without a bottom-hole assembly.

    Examples
    --------
    >>> casing_work_J(1000.0, 12.0, 500.0, 200e3) / 1e6
    653.0

    References
    ----------
    .. [1] API RP 9B, setting casing operations; from memory.
    """
    return (
        round_trip_work_J(depth_m, joint_length_m, casing_weight_N_m, travelling_weight_N, 0.0)
        / 2.0
    )
