"""Driving pages in headless Chromium: how it is started, what a page must never do, and pictures as arrays."""

from __future__ import annotations

import io
import os
import shutil
from base64 import b64decode
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from PIL import Image
from playwright.sync_api import Browser, Dialog, Locator, Page, Playwright, expect, sync_playwright

CHROMIUM = next((path for name in ("chromium", "chromium-browser", "google-chrome") if (path := shutil.which(name))), None)

SOFTWARE_DRAWN = ("--use-gl=angle", "--use-angle=swiftshader", "--enable-unsafe-swiftshader")
"""WebGL without graphics hardware, the same on every machine."""

QUIET = ("--no-sandbox", "--no-first-run", "--disable-background-networking", "--disable-component-update",
         "--disable-quic", "--disable-sync")  # fmt: skip
"""No sandbox, as CI runs as root; and none of the browser's own requests."""

PATIENCE = 120_000
"""Milliseconds that a page may take to come to something; software drawing on a busy machine is slow."""


@contextmanager
def driver() -> Iterator[Playwright]:
    """Start what drives browsers. Where there is no Chromium the test is skipped; in CI it fails, as there it must be."""
    if CHROMIUM is None:
        if os.environ.get("CI"):
            pytest.fail("no Chromium found; .ci/run has to install it")
        pytest.skip("no Chromium found")
    expect.set_options(timeout=PATIENCE)
    with sync_playwright() as found:
        yield found


@contextmanager
def launched(found: Playwright, *, webgl: bool = True) -> Iterator[Browser]:
    """Start Chromium, with or without WebGL."""
    drawn = SOFTWARE_DRAWN if webgl else ("--disable-gpu", "--disable-software-rasterizer", "--disable-3d-apis")
    browser = found.chromium.launch(executable_path=CHROMIUM, args=[*QUIET, *drawn])
    try:
        yield browser
    finally:
        browser.close()


@dataclass
class Watched:
    """A page and all that it did which a page must not do: errors, warnings, requests, dialogs."""

    page: Page
    complaints: list[str] = field(default_factory=list)
    requests: list[str] = field(default_factory=list)
    warned: int = 0

    def refuse(self, dialog: Dialog) -> None:
        """Take a dialog down; only the browser's own question before unsaved work is left is no complaint."""
        if dialog.type == "beforeunload":
            self.warned += 1
            dialog.accept()
            return
        self.complaints.append(f"dialog: {dialog.message}")
        dialog.dismiss()


def watched(browser: Browser, **context: Any) -> Watched:
    """Open an empty page, offline, in a fresh context, and take down what it does."""
    options = {"viewport": {"width": 1000, "height": 620}, "reduced_motion": "reduce", "offline": True, **context}
    page = browser.new_context(**options).new_page()
    page.set_default_timeout(PATIENCE)
    found = Watched(page)
    page.on("console", lambda said: found.complaints.append(said.text) if said.type in ("error", "warning") else None)
    page.on("pageerror", lambda error: found.complaints.append(str(error)))
    page.on("dialog", found.refuse)
    page.on("request", lambda request: found.requests.append(request.url))
    return found


def opened(browser: Browser, path: Path, **context: Any) -> Watched:
    """Open a file in a fresh page and wait until its viewer stands."""
    found = watched(browser, **context)
    found.page.goto(path.as_uri())
    until(found.page, "window.planestock && planestock.viewer.frames > 0")
    return found


def until(page: Page, what: str) -> None:
    """Wait until an expression holds. Playwright's own way needs `unsafe-eval`, which the pages do not allow."""
    for _ in range(PATIENCE // 50):
        if page.evaluate(f"() => Boolean({what})"):
            return
        page.wait_for_timeout(50)
    pytest.fail(f"never came true: {what}")


def seen(what: Page | Locator) -> np.ndarray:
    """A picture of the page or of one element, (height, width, 3), 0 to 255."""
    return np.asarray(Image.open(io.BytesIO(what.screenshot())).convert("RGB")).astype(int)


def drawn(page: Page) -> np.ndarray:
    """The viewer's drawing itself, (height, width, 4), red, green, blue and opacity, 0 to 255."""
    address: str = page.evaluate("planestock.viewer.picture()")
    content = b64decode(address.partition(",")[2])
    return np.asarray(Image.open(io.BytesIO(content)).convert("RGBA")).astype(int)


def differing(one: np.ndarray, other: np.ndarray, by: int = 12) -> float:
    """Share of pixels that differ by more than `by` in any channel."""
    return float((np.abs(one - other).max(axis=2) > by).mean())
