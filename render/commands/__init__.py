"""Commands of the terminal, one a file."""
