"""Fixtures: a record being filled, a server over it, a browser."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest

from tests.web.replayed import Replayed, replayed
from tests.web.serving import CHROMIUM_ARGUMENTS, Watched, chromium_path, served
from tests.web.synthetic import Recorder


@pytest.fixture
def recorder(tmp_path: Path) -> Iterator[Recorder]:
    with Recorder(tmp_path) as running:
        yield running


@pytest.fixture(scope="session")
def stuck(tmp_path_factory: pytest.TempPathFactory) -> Replayed:
    """An invented stuck pipe as `hookload replay` records it; only notes are added to it."""
    return replayed(tmp_path_factory.mktemp("replayed"))


@pytest.fixture(scope="session")
def chromium() -> Iterator[Any]:
    path = chromium_path()
    if path is None:
        pytest.skip("no Chromium found: apt install chromium, or name it in CHROMIUM")
    from playwright.sync_api import sync_playwright

    with sync_playwright() as playwright:
        browser = playwright.chromium.launch(executable_path=path, args=CHROMIUM_ARGUMENTS)
        yield browser
        browser.close()


@pytest.fixture
def address(recorder: Recorder, tmp_path: Path) -> Iterator[str]:
    with served(tmp_path) as at:
        yield at


@pytest.fixture
def watched(chromium: Any, address: str) -> Iterator[Watched]:
    page = chromium.new_context(viewport={"width": 1280, "height": 800}).new_page()
    yield Watched(page, address)
    page.context.close()
