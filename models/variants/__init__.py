"""Variants of a set: compared, and swept over ranges of values."""

if __name__ != "planestock.models.variants":
    raise ImportError("import planestock.models.variants: the short name would load a second copy")
