"""Arguments and options that several commands share, declared once."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

SetSource = Annotated[
    str, typer.Argument(metavar="SET", help="A parameter-set file (TOML), or the name of a shipped set.", show_default=False)
]

Changes = Annotated[
    list[str] | None,
    typer.Option(
        "--set", metavar="PATH=VALUE", help="Change one value of the set, for example throat.opening=0.8; repeatable."
    ),
]

AsJson = Annotated[bool, typer.Option("--json", help="Print one JSON object instead of tables.")]

Numbers = Annotated[
    bool, typer.Option("--numbers", help="Numbers only: build no solids, be done in a fraction of a second.")
]

EveryCheck = Annotated[bool, typer.Option("--all", help="List every check, not only those that do not pass.")]

Tables = Annotated[
    bool, typer.Option("--tables", help="Show the uncertainty budgets, the seasons and the sole's life as tables, too.")
]

Output = Annotated[Path | None, typer.Option("-o", "--output", metavar="PATH", help="Where to write.", show_default=False)]
