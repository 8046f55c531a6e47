"""What was measured and what is wanted: readings and units, parameter sets, data tables, shipped sets."""

if __name__ != "planestock.params":
    raise ImportError(f"import this package as planestock.params, not as {__name__}: a second copy would be loaded")
