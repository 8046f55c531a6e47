"""All CAD of the body and its metal: kernel, meshes, parts, wood, metal, assembly, and the checks of them."""

if __name__ != "planestock.models.solids":
    raise ImportError("import planestock.models.solids: the short name would load a second copy")
