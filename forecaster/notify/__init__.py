"""Channels: what carries a message to a person, one file each."""
