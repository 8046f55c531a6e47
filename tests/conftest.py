"""Shared by every test: how Hypothesis searches here and in CI, and the browser."""

from __future__ import annotations

import os
from collections.abc import Iterator
from typing import TYPE_CHECKING

import pytest
from hypothesis import settings

if TYPE_CHECKING:
    from playwright.sync_api import Browser, Playwright

# The first solid in a process pays for loading the CAD library, so a time limit per example says nothing.
settings.register_profile("here", deadline=None)
# CI repeats the same examples each time: a red run there is the change's fault, never the draw's.
settings.register_profile("ci", deadline=None, derandomize=True, print_blob=True)
settings.load_profile("ci" if os.environ.get("CI") else "here")


@pytest.fixture(scope="module")
def playing() -> Iterator[Playwright]:
    from tests.support.browser_support import driver

    with driver() as one:
        yield one


@pytest.fixture(scope="module")
def browser(playing: Playwright) -> Iterator[Browser]:
    from tests.support.browser_support import launched

    with launched(playing) as one:
        yield one
