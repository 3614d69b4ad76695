"""Syntax becomes a harness: every name resolved, every mistake collected."""
