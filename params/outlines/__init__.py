"""Plane geometry: lines and arcs, chains and outlines of them, crossings, distances, offsets; and their text."""

if __name__ != "planestock.params.outlines":
    raise ImportError("import planestock.params.outlines: the short name would load a second copy")
