"""Searches on graphs. Nothing here knows a harness."""
