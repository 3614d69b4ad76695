"""What conductors carry."""
