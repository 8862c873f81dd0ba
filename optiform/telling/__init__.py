"""Answers in words: for the terminal, the page to print, JSON and charts."""
