"""Pieces to print: test pieces split to the printer's bed, and jigs made from the layout."""

if __name__ != "planestock.models.prints":
    raise ImportError("import planestock.models.prints: the short name would load a second copy")
