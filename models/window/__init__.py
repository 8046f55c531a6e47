"""The window of thicknesses: its formulas, how sure it is, the year, the sole's life, the old body."""

if __name__ != "planestock.models.window":
    raise ImportError("import planestock.models.window: the short name would load a second copy")
