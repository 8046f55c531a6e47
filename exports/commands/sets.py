"""`planestock new`, `sets` and `schema`: where a parameter set comes from and what may stand in it."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

from planestock.exports.commands.options import Output

Name = Annotated[
    str,
    typer.Argument(
        metavar="NAME",
        help="The file to write, if it ends in .toml; else a name for the plane, which the file is called after.",
        show_default=False,
    ),
]
Origin = Annotated[str, typer.Option("--from", metavar="SET", help="Set whose values are put in: a shipped one or a file.")]
Empty = Annotated[bool, typer.Option("--empty", help="Leave out every value that has to be measured.")]
OfOutput = Annotated[
    str | None,
    typer.Option(
        "--of",
        metavar="OUTPUT",
        help='Print the schema of this output instead, for example report.json or "compare --json".',
        show_default=False,
    ),
]
Overwrite = Annotated[bool, typer.Option("--overwrite", help="Replace the file if there is one.")]


def new(
    name: Name, origin: Origin = "jack", output: Output = None, empty: Empty = False, overwrite: Overwrite = False
) -> int:
    """Write a commented set to fill in.

    NAME is a path such as bench/mine.toml, which is written as it is, or any name: then the file is NAME.toml. It explains
    each reading: how to measure it, in which unit, between which bounds, with which tool.
    """
    from planestock.exports.commands.endings import FINE
    from planestock.exports.files.file_names import file_name
    from planestock.params.files import load
    from planestock.params.parsing import parameter_set
    from planestock.params.template import template

    given = load(origin)
    named = Path(name)
    is_path = named.suffix.lower() == ".toml"
    path = output or (named if is_path else Path(f"{file_name(name)}.toml"))
    name = named.stem if is_path else name
    text = template(parameter_set({"name": name} | given.model_dump(mode="json", exclude={"name"})), name, empty=empty)
    write_new_set(path, text, overwrite=overwrite)
    typer.echo(f"Wrote {path}, with values from {origin}. Replace each by your own, then: planestock check {path} --numbers")
    return FINE


def write_new_set(path: Path, text: str, *, overwrite: bool) -> None:
    """Write the text of a new set. Raises InputProblem where a file is there already that is not to be replaced."""
    from planestock.exports.files.front_door import write_one
    from planestock.params.problems import refuse

    if path.exists() and not path.is_dir() and not overwrite:
        raise refuse(str(path), "a file", "is there already and is not replaced", "choose another name, or add --overwrite")
    write_one(path, text.encode())


def sets() -> int:
    """List the shipped, invented sets."""
    from planestock.exports.commands.endings import FINE
    from planestock.params.files import load, shipped

    for name in shipped():
        given = load(name)
        typer.echo(f"{name:10}  {given.note or given.name}")
    return FINE


def schema(output: OfOutput = None) -> int:
    """Print the JSON schema of sets, or of what leaves as JSON."""
    from planestock.exports.commands.endings import FINE
    from planestock.exports.commands.progress import print_json
    from planestock.exports.schemas import schema_of, schema_of_sets

    print_json(schema_of_sets() if output is None else schema_of(output))
    return FINE
