"""Changes of a text: its layout, sizes, replacements, and what a proposal edits."""
