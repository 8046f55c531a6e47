"""The report of one design: data, text, screen."""

if __name__ != "planestock.exports.report":
    raise ImportError("import planestock.exports.report: the short name would load a second copy")
