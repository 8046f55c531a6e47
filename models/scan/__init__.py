"""A scan of the metal or the body laid on the design: registration, residuals, and corrected readings."""

if __name__ != "planestock.models.scan":
    raise ImportError("import planestock.models.scan: the short name would load a second copy")
