"""Files and their formats: the front door to the disk, names, stamps, and a module a format."""

if __name__ != "planestock.exports.files":
    raise ImportError("import planestock.exports.files: the short name would load a second copy")
