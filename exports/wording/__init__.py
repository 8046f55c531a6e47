"""Sentences and the wording of numbers, made from facts of params and models."""

if __name__ != "planestock.exports.wording":
    raise ImportError("import planestock.exports.wording: the short name would load a second copy")
