"""[alarms], [agreed] and [jar] of the rig file."""

from __future__ import annotations

import pytest

from monitor.rig.alarming import Agreed, AlarmLimits, Jar
from monitor.rig.file import parse_rig
from monitor.rig.table import ConfigError
from tests.rig.test_rig_file import LEAST

GIVEN = """
[alarms]
overpull_load = "1600 kN"
slack_off_load = "400 kN"
overpull_margin_share = 0.6
on_delay = "0.5 s"
off_delay = "3 s"
deadband = "15 kN"
longest_shelf = "30 min"
longest_mute = "2 min"
[alarms.out_of_service]
zero_drift = "sensor exchanged; electrician (invented)"
[agreed]
greatest_pull = "1500 kN"
who = "company man (invented)"
when = "2026-03-01"
[jar]
cocking_load = "700 kN"
firing_load = "1200 kN"
wait = "45 s"
"""


def test_every_setting_is_read_in_si() -> None:
    rig = parse_rig(LEAST + GIVEN)
    assert rig.alarms == AlarmLimits(
        overpull_load_N=1600e3,
        slack_off_load_N=400e3,
        overpull_margin_share=0.6,
        on_delay_s=0.5,
        off_delay_s=3.0,
        deadband_N=15e3,
        longest_shelf_s=1800.0,
        longest_mute_s=120.0,
        out_of_service=(("zero_drift", "sensor exchanged; electrician (invented)"),),
    )
    assert rig.agreed == Agreed(None, None, "company man (invented)", "2026-03-01", 1500e3)
    assert rig.jar == Jar(700e3, 1200e3, 45.0)


@pytest.mark.parametrize(
    ("text", "fault"),
    [
        (
            '[alarms.out_of_service]\nnear_crown = "in the way"',
            r"alarms.out_of_service.near_crown: .*can never be taken out of service",
        ),
        ('[alarms.out_of_service]\nover_pull = "x"', r"an alarm is expected, one of: overpull"),
        ('[alarms.out_of_service]\nlight = " "', r"the reason and who decided it"),
        ("[alarms]\noverpull_margin_share = 1.2", r"share of the margin .* below 1"),
        ('[alarms]\nlongest_shelf = "2 d"', r"alarms.longest_shelf"),
        ('[jar]\ncocking_load = "900 kN"\nfiring_load = "800 kN"', r"above the cocking load"),
    ],
)
def test_faults_say_what_is_expected(text: str, fault: str) -> None:
    with pytest.raises(ConfigError, match=fault):
        parse_rig(f"{LEAST}\n{text}\n", "rig.toml")
