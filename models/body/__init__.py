"""Every point of the body in side view and plan: layout, outlines of wood and metal, holes, dowels."""

if __name__ != "planestock.models.body":
    raise ImportError("import planestock.models.body: the short name would load a second copy")
