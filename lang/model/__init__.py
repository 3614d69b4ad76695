"""The harness as the language means it: frozen, typed, SI units, every name resolved."""
