"""What a text may say, as data."""
