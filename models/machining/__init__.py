"""What a router can and cannot do: setups, reachable corners, depths, tolerances; numbers only."""

if __name__ != "planestock.models.machining":
    raise ImportError("import planestock.models.machining: the short name would load a second copy")
