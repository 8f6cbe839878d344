"""Every id of the page, once: the layout, the callbacks and the scripts in assets use these."""

from __future__ import annotations

URL = "url"
THEME = "theme-store"
TRIP_REVISION = "trip-revision"
TRIP_FIGURES = "trip-figures"

PAGE_FLOOR = "page-floor"
PAGE_TRIP_SHEET = "page-trip-sheet"
PAGE_HOIST = "page-hoist"
PAGE_REPLAY = "page-replay"

# Top line
ACTIVITY = "activity"
STAND = "stand"
RIG_AND_RUN = "rig-and-run"
LINES_STRUNG = "lines-strung"
SENSOR_HEALTH = "sensor-health"
DATA_AGE = "data-age"
RIG_TIME = "rig-time"

# Floor, left: how much hangs there, how far from normal, how much more may be pulled
HOOK_LOAD = "hook-load"
EXCESS = "excess"
ROOM_LEFT = "room-left"
LOAD_LADDER = "load-ladder"
FINE_LADDER = "fine-ladder"
BLOCK_TRAVEL = "block-travel"

# Floor, middle: how it came to this
STRIPS = "strips"
STRIPS_GRAPH = "strips-graph"
STRIP_SPAN = "strip-span"
STRIP_HOOK_LOAD = "strip-hook-load"
STRIP_EXCESS = "strip-excess"
STRIP_BLOCK = "strip-block"

# Floor, right: where the bit is, and what asks for an answer
BIT_DEPTH = "bit-depth"
BLOCK_SPEED = "block-speed"
WEIGHT_ON_BIT = "weight-on-bit"
PIPE_STILL = "pipe-still"
EVENT_CARD = "event-card"
EVENT_LIST = "event-list"
TARE = "tare"
GO_TRIP_SHEET = "go-trip-sheet"
GO_HOIST = "go-hoist"
GO_FLOOR = "go-floor"
GO_HOIST_FROM_TRIP_SHEET = "go-hoist-from-trip-sheet"
LIGHT = "light-floor"
LIGHT_TRIP_SHEET = "light-trip-sheet"
ACT_ANSWER = "act-answer"

GO_REPLAY = "go-replay"

# Footer
CAUTION = "caution"
REFUSED = "refused"

# Trip sheet
TRIP_TABLE = "trip-table"
TRIP_NOTE = "trip-note"
TRIP_WEIGHTS = "trip-weights"
TRIP_SPEEDS = "trip-speeds"
TRIP_TANK = "trip-tank"

# Hoist, left: what hangs in which lines
STRING_UP = "string-up"
STRING_UP_NOTE = "string-up-note"
CHANGE_LINES = "change-lines"
GEAR = "gear"
GO_FLOOR_FROM_HOIST = "go-floor-from-hoist"
GO_TRIP_SHEET_FROM_HOIST = "go-trip-sheet-from-hoist"
LIGHT_HOIST = "light-hoist"

# Hoist, middle: what may be pulled
GREATEST_PULL = "greatest-pull"
WEAKEST = "weakest"
HOIST_WARNINGS = "hoist-warnings"
RATINGS = "ratings"

# Hoist, right: the line and what moves it
LINE_WORK = "line-work"
DRILLING_LINE = "drilling-line"
DRUM = "drum"
BRAKING = "braking"
COMPENSATOR = "compensator"
SLIP_AND_CUT = "slip-and-cut"
PREPARATION = "preparation"

# Replay: the figures of the moment are those of the Floor page with "then-" in front
LIGHT_REPLAY = "light-replay"
GO_FLOOR_FROM_REPLAY = "go-floor-from-replay"
GO_TRIP_SHEET_FROM_REPLAY = "go-trip-sheet-from-replay"
GO_HOIST_FROM_REPLAY = "go-hoist-from-replay"
REPLAY_MOMENT = "replay-moment"
REPLAY_DOING = "replay-doing"
REPLAY_TOLD = "replay-told"
REPLAY_VIEWS = "replay-views"
REPLAY_STRIPS = "replay-strips"
REPLAY_STORY = "replay-story"
REPLAY_STUCK = "replay-stuck"
REPLAY_THEN = "replay-then"
REPLAY_NOW = "replay-now"
REPLAY_TIMELINE = "replay-timeline"
REPLAY_SPAN = "replay-span"
REPLAY_SPEED = "replay-speed"
REPLAY_PLAY = "replay-play"
REPLAY_NOTES = "replay-notes"
