"""Sheets for the bench: cut list, list of what to buy, labels."""
