"""Saving a body that is already cut: its repairs, what each needs and leaves, and their order."""

if __name__ != "planestock.models.salvage":
    raise ImportError("import planestock.models.salvage: the short name would load a second copy")
