"""Surveys of an unfamiliar harness: files that begin with ``survey``, read, recorded and laid out."""
