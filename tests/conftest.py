"""Where Chromium is promised, a browser test that skips is a failure; Ctrl-C can be tested."""

from __future__ import annotations

import os
import signal
from collections.abc import Generator

import pytest

# A gate started in the background of a script has SIGINT ignored, and so would every command
# it starts: what Ctrl-C does could not be tested.
if signal.getsignal(signal.SIGINT) is signal.SIG_IGN:
    signal.signal(signal.SIGINT, signal.default_int_handler)


@pytest.hookimpl(wrapper=True)
def pytest_runtest_makereport(
    item: pytest.Item, call: pytest.CallInfo[None]
) -> Generator[None, pytest.TestReport, pytest.TestReport]:
    """Turn a skip of a `browser` test into a failure where CI_BROWSER_REQUIRED is set."""
    report = yield
    is_required = os.environ.get("CI_BROWSER_REQUIRED") == "1"
    if is_required and report.skipped and item.get_closest_marker("browser"):
        report.outcome = "failed"
        report.longrepr = f"browser test skipped where Chromium is required: {report.longrepr}"
    return report
