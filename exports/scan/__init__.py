"""What `fit` writes and says: colour map, page, proposed readings."""

if __name__ != "planestock.exports.scan":
    raise ImportError("import planestock.exports.scan: the short name would load a second copy")
