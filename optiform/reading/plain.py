"""Answers as JSON: the head of each, the version of its schema and how it ended; and its text."""

from collections.abc import Mapping

SCHEMA = 2  # the version of what JSON says; a name that changes its meaning or goes needs another


def answered(status: str, **fields: object) -> dict[str, object]:
    """An answer: the version of its schema, how it ended, and what it says.

    Example:
        >>> answered("copied", files=["brief.toml"])
        {'schema': 2, 'status': 'copied', 'files': ['brief.toml']}
    """
    return {"schema": SCHEMA, "status": status, **fields}


def json_text(data: Mapping[str, object]) -> str:
    """An answer as the text of a JSON file.

    Example:
        >>> print(json_text({"kg": 0.3, "ingredient": "kokum butter"}))
        {
         "kg": 0.3,
         "ingredient": "kokum butter"
        }
    """
    import json  # only where it is asked for

    return json.dumps(data, ensure_ascii=False, indent=1, allow_nan=False)
