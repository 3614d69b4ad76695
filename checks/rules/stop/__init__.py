"""Stop: the engine must stop, and start only when it should."""
