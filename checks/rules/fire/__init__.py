"""Fire: protection and conductors."""
