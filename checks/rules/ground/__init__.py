"""Ground: every load needs its way back."""
