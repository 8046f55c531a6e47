"""Undo and redo: the texts that a set has had, each with what was done to it."""

from __future__ import annotations

from dataclasses import dataclass, field

MOST_STEPS = 300
"""Steps that can be undone; an afternoon of changes."""

MOST_TEXT = 4_000_000
"""Characters of all steps together; ordinary sets stay far below, hostile ones must not fill the memory."""


@dataclass(frozen=True)
class Step:
    """One state of a set. what: what was done to reach it, for people; stroke: mark of the typing that it belongs to."""

    text: str
    what: str
    stroke: str = ""


@dataclass
class History:
    """The steps of one set, and where in them it stands."""

    steps: list[Step] = field(default_factory=list)
    at: int = 0

    @property
    def text(self) -> str:
        """The set as it stands."""
        return self.steps[self.at].text

    def do(self, step: Step) -> None:
        """Go one step on; what was undone before is forgotten. Steps of one stroke of typing are one step.

        A step that brings back the text before its stroke leaves no trace.
        """
        if step.text == self.text:
            return
        del self.steps[self.at + 1 :]
        same = self.at > 0 and step.stroke != "" and self.steps[self.at].stroke == step.stroke
        if same:
            del self.steps[self.at]
        if not (same and self.steps[-1].text == step.text):
            self.steps.append(step)
        while len(self.steps) > MOST_STEPS or (len(self.steps) > 2 and sum(len(one.text) for one in self.steps) > MOST_TEXT):
            del self.steps[0]
        self.at = len(self.steps) - 1

    @property
    def undoes(self) -> str | None:
        """What undoing would take back, None where there is nothing."""
        return self.steps[self.at].what if self.at > 0 else None

    @property
    def redoes(self) -> str | None:
        """What redoing would do again, None where there is nothing."""
        return self.steps[self.at + 1].what if self.at + 1 < len(self.steps) else None

    def undo(self) -> bool:
        """Go one step back; False where there is none."""
        self.at, moved = max(0, self.at - 1), self.at > 0
        return moved

    def redo(self) -> bool:
        """Go one step forward again; False where there is none."""
        last = len(self.steps) - 1
        self.at, moved = min(last, self.at + 1), self.at < last
        return moved
