"""The panel of alarms over any page, and its journal's route. The scripts in assets fill it."""

from __future__ import annotations

from typing import Any

from dash import html

from monitor.model import AlarmChange
from monitor.web import ids

JOURNAL_SHOWN = 60


def alarm_panel() -> html.Dialog:
    """What is present, what is shelved and until when, the sound, every alarm, the journal."""
    return html.Dialog(
        [
            html.Div(
                [
                    html.H2("Alarms", id=f"{ids.ALARM_PANEL}-title"),
                    html.Button("Back", id=ids.ALARMS_CLOSE, className="button", type="button"),
                ],
                className="alarm-head",
            ),
            html.Div(
                [
                    html.Span(id=ids.SOUND_STATE, className="sound-state"),
                    html.Span(id=ids.SOUND_TESTED, className="soft", role="status"),
                    html.Button(
                        "Test sound", id=ids.SOUND_TEST, className="button", type="button"
                    ),
                    html.Button("Mute", id=ids.SOUND_MUTE, className="button", type="button"),
                ],
                className="alarm-sound",
            ),
            html.Div(
                [
                    _part("Present", ids.ALARMS_PRESENT),
                    _part("Shelved", ids.ALARMS_SHELVED),
                    _part("All alarms", ids.ALARMS_KINDS),
                    _part("Journal, newest first", ids.ALARMS_JOURNAL),
                ],
                className="alarm-parts",
            ),
        ],
        id=ids.ALARM_PANEL,
        className="alarm-panel",
        **{"aria-labelledby": f"{ids.ALARM_PANEL}-title"},
    )


def _part(title: str, name: str) -> html.Section:
    return html.Section([html.H3(title), html.Div(id=name)], className=name)


def alarm_elsewhere() -> html.Button:
    """On the other pages: which alarm asks, so that no sound is without its reason."""
    return html.Button(
        [html.Span(className="mark"), html.Span(id=f"{ids.ALARM_ELSEWHERE}-words")],
        id=ids.ALARM_ELSEWHERE,
        className="alarm-elsewhere away",
        type="button",
    )


def change_facts(change: AlarmChange) -> dict[str, Any]:
    """One line of the journal as the page gets it."""
    return {name: getattr(change, name) for name in AlarmChange.__dataclass_fields__}
