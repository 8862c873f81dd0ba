"""Answers as plain text for a terminal."""
