"""Files of test pieces and jigs for a printer."""

if __name__ != "planestock.exports.prints":
    raise ImportError("import planestock.exports.prints: the short name would load a second copy")
