"""Two harnesses of one motorcycle: what of the old one is in the new one, and what behaves otherwise."""
