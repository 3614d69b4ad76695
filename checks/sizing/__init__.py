"""Sizes of wires and ratings of fuses."""
