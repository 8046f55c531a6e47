"""HTML pages: preview, compare, fit, and the scene that they show."""

if __name__ != "planestock.exports.pages":
    raise ImportError("import planestock.exports.pages: the short name would load a second copy")
