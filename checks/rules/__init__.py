"""The rule catalogue, one rule a file."""
