"""`planestock thickness`: how thick to cut the body, from two depths or a few readings, before there is a set."""

from __future__ import annotations

import typer


def thickness(context: typer.Context) -> int:
    """Say how thick to cut the body: two depths, or a few readings by pin, are enough.

    Two depths are the bench method: metal bolted together without the wood, the edge's distance below the seat plane with
    the adjuster all the way out and all the way back. The readings by pin do without bolting together. Both are compared.
    What is missing is asked at a terminal, one after the other; elsewhere it is named. Ends with 1 when a check fails.
    """
    from planestock.exports.commands.thickness_options import with_options

    code = with_options(thickness.__doc__ or "")(args=context.args, prog_name=context.command_path, standalone_mode=False)
    return int(code or 0)
