"""The circuit of a harness: branches between nets, and what moves them."""
