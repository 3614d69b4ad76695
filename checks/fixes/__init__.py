"""Fixes that can be applied to the text."""
