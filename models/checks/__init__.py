"""Checks and refusals that need no solids; what they measure lies in the other rooms."""

if __name__ != "planestock.models.checks":
    raise ImportError("import planestock.models.checks: the short name would load a second copy")
