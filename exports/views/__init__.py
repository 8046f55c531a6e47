"""Looking at a body: the scene for the viewer, the page that can be mailed, rendered pictures."""

if __name__ != "planestock.exports.views":
    raise ImportError("import planestock.exports.views: the short name would load a second copy")
