"""Behaviour: each thing does its job."""
