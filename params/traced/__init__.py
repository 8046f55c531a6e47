"""Traced outlines of the casting: drawings and photographs read, cleaned, fitted with lines and tangent arcs."""

if __name__ != "planestock.params.traced":
    raise ImportError("import planestock.params.traced: the short name would load a second copy")
