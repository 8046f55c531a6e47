"""What `trace` writes: the outline as drawings, and a picture of what was found."""

if __name__ != "planestock.exports.traced":
    raise ImportError("import planestock.exports.traced: the short name would load a second copy")
