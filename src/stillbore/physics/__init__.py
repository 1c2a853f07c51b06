"""One function, one published formula: scalar, SI, ``math`` only; see docs/physics.md for the contract."""
