"""Protocols and site settings as they travel with the program."""
