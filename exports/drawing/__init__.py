"""The views of a body as plain lines and words, and the files that hold them: DXF and SVG."""

if __name__ != "planestock.exports.drawing":
    raise ImportError("import planestock.exports.drawing: the short name would load a second copy")
