"""The conditions the scorecard runs: which stories, how sampled, how spoilt, what settings."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, replace

from monitor.rig.rig import EventLimits, Rig
from monitor.score.faults import SPAN_N
from monitor.simulate import SCENARIOS, Simulation

# Apart from the seeds of tests and demos, so that nothing was tuned on these stories.
FIRST_SEED = 1001
LARGE_LIMIT_N = 50e3
SMALL_LIMIT_N = 25e3
HEAVE_LIMIT_N = 60e3  # what the invented floating rig's own file says
LIGHT_BELOW_M = 100.0  # a trip in that begins shallower is near surface
TRIPS = ("trip_out", "trip_in")
WORKED = ("stuck_pipe",)


@dataclass(frozen=True, slots=True)
class Variant:
    """One condition. ``hz`` are taken in turn by seed."""

    name: str
    what: str
    scenarios: tuple[str, ...]
    hours: float
    hz: tuple[float, ...] = (10.0, 5.0)
    limits_N: tuple[float, ...] = (LARGE_LIMIT_N, SMALL_LIMIT_N)
    spoilt: str = ""
    lines: int = 0  # set wrong by so many
    efficiency: float = 0.0  # set wrong by so much
    travelling_N: float = 0.0
    light: bool = False
    least_s: float = 0.0  # shorter truths count neither way

    @property
    def settings_right(self) -> bool:
        """Whether the rig file says what the rig is."""
        return not (self.lines or self.efficiency or self.travelling_N)

    def settings(self, rig: Rig, limit_N: float) -> Rig:
        """Rig file the analysis is given."""
        reeving = replace(
            rig.reeving,
            lines_strung=rig.reeving.lines_strung + self.lines,
            sheave_efficiency=rig.reeving.sheave_efficiency + self.efficiency,
        )
        return replace(
            rig,
            reeving=reeving,
            travelling_weight_N=rig.travelling_weight_N + self.travelling_N,
            events=EventLimits(limit_N, limit_N),
            sensor=replace(rig.sensor, span_N=SPAN_N),
        )


VARIANTS: tuple[Variant, ...] = (
    Variant("clean", "trips out and in, 10 and 5 Hz", TRIPS, 4.0),
    Variant("noisy", "the same, four times the noise", TRIPS, 4.0, spoilt="noise"),
    Variant("near surface", "trips in from surface, string light", ("trip_in",), 0.8, light=True),
    Variant("worked pipe", "stuck and worked, freed or not", WORKED, 3.0),
    Variant("drilling", "drilling a stand, connections", ("drilling",), 4.0),
    Variant(
        "faulty", "missing, spikes, late, frozen, gaps, counter jumps", TRIPS + WORKED, 4.0,
        spoilt="faults",
    ),
    # Tight spots are met on its short trips only: long records, for pulls enough to judge by.
    Variant("heave", "floating rig, heave and compensator", ("floater",), 8.0,
            limits_N=(HEAVE_LIMIT_N,)),
    Variant("1 Hz", "a row a second", TRIPS + WORKED, 4.0, hz=(1.0,)),
    Variant("5 s", "a row in five seconds", TRIPS + WORKED, 4.0, hz=(0.2,), least_s=15.0),
    Variant("lines +2", "two lines more in the rig file", TRIPS, 2.0, lines=2),
    Variant("lines -2", "two lines fewer in the rig file", TRIPS, 2.0, lines=-2),
    Variant("efficiency off", "0.975 for 0.985", TRIPS, 4.0, efficiency=-0.010),
    Variant("weight off", "travelling weight 15 kN too high", TRIPS, 4.0, travelling_N=15e3),
    Variant("zero drift", "sensor zero moves by 1 % of span", TRIPS, 2.0, spoilt="drift"),
)  # fmt: skip


@dataclass(frozen=True, slots=True)
class Case:
    """One record to make and score."""

    variant: Variant
    scenario: str
    seed: int
    hz: float
    hours: float


def cases(n_seeds: int, *, longest_h: float, variants: tuple[Variant, ...]) -> list[Case]:
    """List every record of a run; each variant meets the same stories."""
    found = []
    for variant in variants:
        for scenario in variant.scenarios:
            if scenario not in SCENARIOS:
                continue
            seeds = light_seeds() if variant.light else iter(range(FIRST_SEED, 2**31))
            for number in range(n_seeds):
                hz = variant.hz[number % len(variant.hz)]
                hours = min(variant.hours, longest_h)
                found.append(Case(variant, scenario, next(seeds), hz, hours))
    return found


def light_seeds() -> Iterator[int]:
    """Give seeds whose trip in begins near surface."""
    for seed in range(FIRST_SEED, 2**31):
        if Simulation("trip_in", seed, hours=0.1).bit_depth_m < LIGHT_BELOW_M:
            yield seed
