"""The command that scores detection on simulated records: score."""

from __future__ import annotations

import argparse
import sys

from monitor.commands.errors import UseError
from monitor.commands.progress import Progress

DONE = 0


def score(arguments: argparse.Namespace) -> int:
    """Print how well simulated records are interpreted, as a table or as JSON."""
    from monitor.report.summary import json_text
    from monitor.score.scorecard import QUICK_SEEDS, SEEDS, scorecard
    from monitor.score.text import scorecard_text

    usual = QUICK_SEEDS if arguments.quick else SEEDS
    n_seeds = usual if arguments.seeds is None else arguments.seeds
    for option, value, greatest in (("--seeds", n_seeds, 1000), ("--jobs", arguments.jobs, 64)):
        if not 1 <= value <= greatest:
            raise UseError(f"{option} {value}: must be 1 to {greatest}")
    with Progress("scored") as progress:
        card = scorecard(n_seeds, quick=arguments.quick, n_jobs=arguments.jobs, progress=progress)
    if arguments.json:
        sys.stdout.write(json_text(card))
    else:
        print(scorecard_text(card))
    return DONE
