"""The tools that readings are taken with: a closed list, each with the ± that is usual with it and the finest it can do."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal, get_args

Tool = Literal["caliper", "micrometer", "depth_gauge", "rule", "protractor", "radius_gauge"]
"""Every measured field names one of these; `instrument` has a field of the same name for its ±."""


@dataclass(frozen=True)
class Limits:
    """What a tool can do; (mm, inches) where it reads lengths, else the same twice.

    usual: its ± in a workshop, as written in a new set; best: ± that a careful hand reaches, mm or degrees; reads_to: how
    fine it is read; reads_closer: how fine where the thickness hangs on the reading and the tool can do better.
    """

    usual: tuple[str, str]
    best: float
    reads_to: tuple[str, str]
    reads_closer: tuple[str, str]


TOOLS: dict[Tool, Limits] = {
    "caliper": Limits(("0.1 mm", "0.004 in"), 0.03, ("0.1 mm", "0.004 in"), ("0.05 mm", "0.002 in")),
    "micrometer": Limits(("0.02 mm", "0.001 in"), 0.01, ("0.02 mm", "0.001 in"), ("0.02 mm", "0.001 in")),
    "depth_gauge": Limits(("0.1 mm", "0.004 in"), 0.05, ("0.1 mm", "0.004 in"), ("0.05 mm", "0.002 in")),
    "rule": Limits(("0.25 mm", "0.01 in"), 0.1, ("0.5 mm", "1/64 in"), ("0.1 mm", "0.004 in")),
    "protractor": Limits(("0.3 deg", "0.3 deg"), 0.1, ("0.3°", "0.3°"), ("0.2°", "0.2°")),
    "radius_gauge": Limits(("0.5 mm", "0.02 in"), 0.2, ("0.5 mm", "1/64 in"), ("0.5 mm", "1/64 in")),
}
"""By tool. best, reads_to, reads_closer: common practice, no published source. usual: our own choice, from what each is read
to with rust, paint and setting up besides; a rule half of a half-millimetre division, a radius gauge one step of its blades.
The finest of a rule is through a lens."""

assert tuple(TOOLS) == get_args(Tool), "every tool has its limits"


def spoken(tool: Tool) -> str:
    """Return a tool's name as people say it: `depth gauge`."""
    return tool.replace("_", " ")
