"""What the pages share: the session's state, cached jobs, and the parts that show answers."""
