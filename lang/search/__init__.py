"""Searches on graphs, all of them here; nothing in this room knows a harness.

Whoever asks hands in a ``step``: what can be gone to from a node at once, each with the edge it is gone by. Walls,
directions and what is closed are its affair. ``check`` runs on every edit, and the library for graphs takes longer to
import than all of these searches take to run: it judges them in the tests.
"""
