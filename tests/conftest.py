"""Where Chromium is promised, a browser test that skips is a failure."""

from __future__ import annotations

import os
from collections.abc import Generator

import pytest


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
