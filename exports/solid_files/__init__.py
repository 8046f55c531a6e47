"""Files that hold solids and meshes: STEP, STL, 3MF, GLB."""

if __name__ != "planestock.exports.solid_files":
    raise ImportError("import planestock.exports.solid_files: the short name would load a second copy")
