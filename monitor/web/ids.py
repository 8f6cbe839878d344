"""Every id of the page, once: the layout, the callbacks and the scripts in assets use these."""

from __future__ import annotations

URL = "url"
THEME = "theme-store"
TRIP_REVISION = "trip-revision"
TRIP_FIGURES = "trip-figures"

PAGE_FLOOR = "page-floor"
PAGE_TRIP_SHEET = "page-trip-sheet"
PAGE_HOIST = "page-hoist"
PAGE_SENSOR = "page-sensor"

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

# Sensor, left: a known load and the reading set against it
SENSOR_NOTE = "sensor-note"
SENSOR_STEPS = "sensor-steps"
SENSOR_NEXT = "sensor-next"
SENSOR_KINDS = "sensor-kinds"
SENSOR_KIND_WORDS = "sensor-kind-words"
SENSOR_READING = "sensor-reading"
SENSOR_STRIP = "sensor-strip"
SENSOR_LOAD = "sensor-load"
SENSOR_CAPTURE = "sensor-capture"
SENSOR_AS_FOUND = "sensor-as-found"
SENSOR_TOLD = "sensor-told"
SENSOR_SPELLS = "sensor-spells"
SENSOR_TAKE_ALL = "sensor-take-all"
GO_FLOOR_FROM_SENSOR = "go-floor-from-sensor"
GO_HOIST_FROM_SENSOR = "go-hoist-from-sensor"
GO_SENSOR = "go-sensor"
GO_SENSOR_FROM_HOIST = "go-sensor-from-hoist"
LIGHT_SENSOR = "light-sensor"

# Sensor, middle: points in, fit out
SENSOR_POINTS = "sensor-points"
SENSOR_TEXT = "sensor-text"
SENSOR_PASTE = "sensor-paste"
SENSOR_FILE = "sensor-file"
SENSOR_CLEAR = "sensor-clear"
SENSOR_MODEL = "sensor-model"
SENSOR_FIT = "sensor-fit"
SENSOR_CHART = "sensor-chart"
SENSOR_REFERENCE = "sensor-reference"
SENSOR_CERTIFICATE = "sensor-certificate"
SENSOR_PERCENT = "sensor-percent"
SENSOR_PROPOSE = "sensor-propose"
SENSOR_PRINT = "sensor-print"

# Sensor, right: what is in force, and what the record says of the sensor
SENSOR_VERSIONS = "sensor-versions"
SENSOR_HEALTH_SECTION = "sensor-health-section"
SENSOR_UNCERTAINTY = "sensor-uncertainty"
SENSOR_FRICTION = "sensor-friction"
SENSOR_ZERO = "sensor-zero"
SENSOR_LINES = "sensor-lines"
SENSOR_BLOCK = "sensor-block"
SENSOR_GEOMETRY = "sensor-geometry"
SENSOR_GEOMETRY_TOLD = "sensor-geometry-told"
SENSOR_TAPED = "sensor-taped"
SENSOR_TAKE_TAPED = "sensor-take-taped"
SENSOR_SURVEY = "sensor-survey"
SENSOR_TALLY = "sensor-tally"
SENSOR_SURVEY_TOLD = "sensor-survey-told"
