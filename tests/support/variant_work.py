"""What child processes do in the tests of `exports/variants/build_all.py`: quick stand-ins for solids, some of which die."""

from __future__ import annotations

import os
import signal
import time
from pathlib import Path
from typing import Any

from planestock.models.variants.sweep import OUTCOMES


def quick(values: dict[str, Any]) -> dict[str, Any]:
    """Answer at once; die, raise, fall silent or wait as the note says. Each call leaves a line in PLANESTOCK_TEST_LOG."""
    with Path(os.environ["PLANESTOCK_TEST_LOG"]).open("a", encoding="utf-8") as log:
        log.write(f"{values['name']}\n")
    note = values.get("note", "")
    if note == "crash":
        os.kill(os.getpid(), signal.SIGSEGV)
    if note == "exit":
        os._exit(7)
    if note == "raise":
        raise RuntimeError("no such face\nat all")
    if note == "hang":
        time.sleep(3600)
    if note == "chatter":
        os.write(1, b"the kernel prints at will\n")
    mass = float("nan") if note == "nan" else 1.5
    return {"outcomes": dict.fromkeys(OUTCOMES, 1.25), "failing": [], "masses": {"body": mass}, "mass": mass}
