"""Typed texts to values."""
