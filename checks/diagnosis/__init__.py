"""From what is seen and measured to what may have failed."""
