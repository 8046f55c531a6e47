"""What follows from the readings: layout, reach, movement, solids, metal, checks, and one `design` that joins them.

The numeric modules (everything but `kernel`, `solids`, `metal`, `meshes`, `parts` and `solid_checks`) import no CAD.
"""

if __name__ != "planestock.models":
    raise ImportError(f"import this package as planestock.models, not as {__name__}: a second copy would be loaded")
