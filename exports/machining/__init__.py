"""Files for a shop with a router: solids in their machining position and the setup sheet."""

if __name__ != "planestock.exports.machining":
    raise ImportError("import planestock.exports.machining: the short name would load a second copy")
