"""Files: reading, watching, folders, the library of patterns, a first harness."""
