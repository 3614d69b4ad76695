"""A drawing as data, its lettering, and what it is written as."""
