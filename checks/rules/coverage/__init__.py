"""Coverage: what was not proved."""
