"""The language: text becomes a harness, a harness becomes a circuit. Knows nothing of rules or pictures."""
