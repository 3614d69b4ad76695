"""Loomwright: a text language for motorcycle wiring harnesses, with a checker and a renderer."""

__version__ = "0.1.0"
