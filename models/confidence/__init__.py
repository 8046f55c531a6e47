"""How sure the numbers are: budgets, chance, the two roads to the window, and what to say of them."""

if __name__ != "planestock.models.confidence":
    raise ImportError("import planestock.models.confidence: the short name would load a second copy")
