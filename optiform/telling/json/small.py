"""Answers of a few words as plain data: files that were written, topics, what keeps a command from answering."""

from optiform.telling.json.form import Either, answer, many, record, text, texts

_FAULT = record(text("file"), text("place"), text("read"), text("expected"))
FAULTS = Either(
    (
        answer(["bad input"], many("faults", _FAULT)),
        answer(["undecided", "unproven", "crash"], text("reason")),
    ),
    lambda of: int(not hasattr(of, "faults")),
)
COMPLETION = answer(["written"], text("language"), text("script"))
COPIED = answer(["copied"], text("folder"), texts("files"))
NEW = answer(["written"], text("file"), text("brief"))
TOPICS = answer(["listed"], many("topics", record(text("name"), text("title"))))
