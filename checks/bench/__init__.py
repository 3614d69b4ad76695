"""The loom on the bench: pieces with their lengths and crimps, looms, stretches, what to buy, labels."""
