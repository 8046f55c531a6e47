"""What every written file carries about where it comes from."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True)
class Stamp:
    """Identity of a design, put into every file so that it can be made again.

    name: the set's name as the user wrote it (any text). digest: hexadecimal digest of the set's values.
    version: the program's version. failing: ids of failing checks; not empty only when they were allowed by name.
    """

    name: str
    digest: str
    version: str
    failing: tuple[str, ...] = ()

    @property
    def line(self) -> str:
        """One line of text: name, digest, version, and a plain warning while a check fails."""
        warning = f"; FAILS ITS CHECKS: {', '.join(self.failing)}" if self.failing else ""
        return f"{self.name} ({self.digest[:12]}), planestock {self.version}{warning}"
