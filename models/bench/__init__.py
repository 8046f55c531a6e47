"""What the maker needs at the bench: marks, drilling, angles, wood to saw, glue."""

if __name__ != "planestock.models.bench":
    raise ImportError("import planestock.models.bench: the short name would load a second copy")
