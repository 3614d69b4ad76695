"""The schematic of a harness."""
