"""Ground: every load needs its ground return."""
