"""`planestock check`: numbers and checks of a set on the screen, or as one JSON object."""

from __future__ import annotations

from planestock.exports.commands.options import AsJson, Changes, EveryCheck, Numbers, SetSource, Tables


def check(
    source: SetSource,
    changes: Changes = None,
    as_json: AsJson = False,
    numbers: Numbers = False,
    every: EveryCheck = False,
    tables: Tables = False,
) -> int:
    """Check whether the body fits its metal.

    Says what to cut, what does not pass and how to change it, and the numbers that matter. Ends with 1 when a check fails.
    """
    from planestock.exports.commands.endings import CHECK_FAILED, FINE
    from planestock.exports.commands.progress import busy, print_json
    from planestock.exports.files.stamp import overall
    from planestock.exports.report.data import report, rows_of
    from planestock.models.design import design
    from planestock.params.files import load

    made = design(load(source, changes or ()))
    with busy("" if numbers else "building the solids and checking them"):
        rows = rows_of(made, solids=not numbers)
    if as_json:
        print_json(report(made, solids=not numbers))
    else:
        from planestock.exports.report.screen import result_console, show_checks, show_evidence

        console = result_console()
        show_checks(console, made, rows, solids=not numbers, where="--all shows them", every=every)
        if tables:
            show_evidence(console, made)
    return CHECK_FAILED if overall(rows) == "fail" else FINE
