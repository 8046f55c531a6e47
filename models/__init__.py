"""What follows from the readings: layout, reach, movement, solids, metal, checks, and one `design` that joins them.

The numeric modules import no CAD; the CAD part is `assembly`, `kernel`, `meshes`, `metal`, `parts`, `prints`, `scan`,
`solid_checks` and `solids`.
"""

if __name__ != "planestock.models":
    raise ImportError(f"import this package as planestock.models, not as {__name__}: a second copy would be loaded")
