"""The head of every answer as JSON: the version of its schema, and how it ended."""

SCHEMA = 2  # the version of what JSON says; a name that changes its meaning or goes needs another


def answered(status: str, **fields: object) -> dict[str, object]:
    """An answer: the version of its schema, how it ended, and what it says.

    Example:
        >>> answered("copied", files=["brief.toml"])
        {'schema': 2, 'status': 'copied', 'files': ['brief.toml']}
    """
    return {"schema": SCHEMA, "status": status, **fields}
