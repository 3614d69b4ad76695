"""Quantities: units, sizes of conductors, and the one way in which a number is shown."""
