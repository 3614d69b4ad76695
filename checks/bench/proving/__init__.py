"""Proving a harness with a meter: by eye, on the table, on the motorcycle with the battery off, at first power."""
