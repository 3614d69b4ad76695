"""The schematic as a set of sheets of paper: a sheet a system, flags from sheet to sheet, an index."""
