"""What a rule finds."""
