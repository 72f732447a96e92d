"""Afterwards: what a session came to, second by second, and what may be said of it. Pure."""
