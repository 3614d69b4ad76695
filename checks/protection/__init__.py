"""What limits a fault current in each conductor."""
