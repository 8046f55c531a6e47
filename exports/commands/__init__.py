"""Every command of the command line, one module each, and what they share."""

if __name__ != "planestock.exports.commands":
    raise ImportError("import planestock.exports.commands: the short name would load a second copy")
