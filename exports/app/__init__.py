"""The app: a server on this machine, the page it serves, and the child process that builds bodies for it."""

if __name__ != "planestock.exports.app":
    raise ImportError("import planestock.exports.app: the short name would load a second copy")
