"""Which half of a plug is which: candidates of a diagram, what readings say of them, and the next reading to take."""
