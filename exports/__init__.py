"""What leaves the program: solids, meshes, reports, and the command line. A writer takes a design and returns bytes."""

if __name__ != "planestock.exports":
    raise ImportError(f"import this package as planestock.exports, not as {__name__}: a second copy would be loaded")
