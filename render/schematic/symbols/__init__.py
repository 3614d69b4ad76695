"""The symbols of the schematic: glyphs, the frames that hold several of them, and what each part is drawn as."""
