"""Many variants of a set: built, compared, and shown side by side."""

if __name__ != "planestock.exports.variants":
    raise ImportError("import planestock.exports.variants: the short name would load a second copy")
