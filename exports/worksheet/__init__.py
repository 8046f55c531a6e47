"""The worksheet: a printable form to measure the metal with."""

if __name__ != "planestock.exports.worksheet":
    raise ImportError("import planestock.exports.worksheet: the short name would load a second copy")
