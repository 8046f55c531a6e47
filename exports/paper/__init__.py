"""Paper for the bench: the shop sheet, its tables and full-size templates."""

if __name__ != "planestock.exports.paper":
    raise ImportError("import planestock.exports.paper: the short name would load a second copy")
