"""Alternating windings and what they carry."""
