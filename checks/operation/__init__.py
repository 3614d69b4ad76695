"""Operating points of the named states, the worst case of each device, and what is expected of them."""
