"""Signals, a client and streams that are made up, and speak LSL like any amplifier."""
