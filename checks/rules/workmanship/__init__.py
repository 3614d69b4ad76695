"""Workmanship: it can be made and read."""
