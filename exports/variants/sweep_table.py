"""A sweep's table as CSV or Parquet; lengths in mm, angles in degrees, masses in g, empty where there is nothing."""

from __future__ import annotations

import csv
import importlib
import io
from collections.abc import Iterator, Mapping, Sequence
from typing import Any

import numpy as np

from planestock.exports.files.stamp import Stamp
from planestock.exports.files.writer_rules import one_line
from planestock.params.problems import refuse

Column = np.ndarray | Sequence[str]

DECIMALS = 6
"""Decimals of a number: a millionth of a millimetre, below what any reading holds."""

CHUNK = 50_000
"""Rows turned into text at a time."""

WHAT_TO_INSTALL = "pip install 'planestock[parquet]' (it brings pyarrow), or write a .csv file"


def columns_of(inputs: Mapping[str, np.ndarray], outcomes: Mapping[str, np.ndarray],
               words: Mapping[str, Sequence[str]]) -> dict[str, Column]:  # fmt: skip
    """Return all columns in the order of the table: what was varied, what follows, words last."""
    return {**inputs, **outcomes, **words}


def as_csv(columns: Mapping[str, Column], stamp: Stamp) -> bytes:
    """Return the table as CSV (RFC 4180) in UTF-8, its first line a comment (#) that says where it comes from."""
    head = io.StringIO()
    csv.writer(head, lineterminator="\r\n").writerow(columns)
    mark = f"# {one_line(stamp.line)}; mm, degrees, g\r\n"
    return (mark + head.getvalue() + "".join(_chunks(columns))).encode()


def _chunks(columns: Mapping[str, Column]) -> Iterator[str]:
    rows = len(next(iter(columns.values())))
    for start in range(0, rows, CHUNK):
        texts = [_texts(column[start : start + CHUNK]) for column in columns.values()]
        yield "".join(",".join(row) + "\r\n" for row in zip(*texts, strict=True))


def _texts(column: Column) -> list[str]:
    if isinstance(column, np.ndarray):
        return [_number(value) for value in np.round(column.astype(np.float64), DECIMALS).tolist()]
    return [_quoted(word) for word in column]


def _number(value: float) -> str:
    """Return a rounded number as its shortest text; empty for what is no number."""
    if value != value:  # noqa: PLR0124 - only what is not a number differs from itself
        return ""
    return str(int(value)) if value.is_integer() else repr(value)


def _quoted(word: str) -> str:
    """Return words as one field; quoted always where a reader could take them for something else."""
    plain = one_line(word)
    return f'"{plain.replace(chr(34), chr(34) * 2)}"' if plain else ""


def require_parquet() -> Any:
    """Return the library that writes Parquet. Raises InputProblem that says what to install where it is missing."""
    try:
        importlib.import_module("pyarrow")
        return importlib.import_module("pyarrow.parquet")
    except ImportError:
        raise refuse("-o", ".parquet", "needs pyarrow, which is not installed", WHAT_TO_INSTALL) from None


def as_parquet(columns: Mapping[str, Column], stamp: Stamp) -> bytes:
    """Return the table as Parquet, the stamp in its metadata. Raises InputProblem where pyarrow is missing."""
    parquet = require_parquet()
    arrow = importlib.import_module("pyarrow")
    arrays = {name: arrow.array(list(column) if not isinstance(column, np.ndarray) else column, from_pandas=True)
              for name, column in columns.items()}  # fmt: skip
    table = arrow.table(arrays).replace_schema_metadata({"planestock": stamp.line})
    sink = io.BytesIO()
    parquet.write_table(table, sink)
    return sink.getvalue()
