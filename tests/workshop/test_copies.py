"""Dated copies of the records: one a day, a limited number, and back to one with what was there kept."""

from pathlib import Path

import pytest

from optiform.reading.faults import BadInput
from optiform.workshop.copies import DAILY, MOST, RESTORED, copies_of, restore
from optiform.workshop.records import Lot, Offer, Record
from optiform.workshop.store import Workshop
from tests.workshop.samples import CAME, LOT, OFFER


def used(shop: Path, day: str, monkeypatch: pytest.MonkeyPatch, *records: Record) -> None:
    """Records kept on a day."""
    monkeypatch.setenv("OPTIFORM_CLOCK", day)
    with Workshop.open(shop) as workshop:
        workshop.add(*records)


def test_the_first_writing_of_a_day_leaves_a_copy_of_the_day_before(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    used(tmp_path, "2026-11-02", monkeypatch, LOT, CAME)
    assert copies_of(tmp_path / "records.db") == []
    used(tmp_path, "2026-11-03T08:00", monkeypatch, OFFER)
    used(tmp_path, "2026-11-03T09:00", monkeypatch)
    (copy,) = copies_of(tmp_path / "records.db")
    assert (copy.why, f"{copy.made:%d %H}") == (DAILY, "03 08")


def test_a_copy_is_gone_back_to_and_what_was_there_is_copied(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    used(tmp_path, "2026-11-02", monkeypatch, LOT, CAME)
    used(tmp_path, "2026-11-03", monkeypatch, OFFER)
    (copy,) = copies_of(tmp_path / "records.db")
    restore(tmp_path / "records.db", copy.path)
    with Workshop.open(tmp_path) as workshop:
        assert (workshop.read(Lot), workshop.read(Offer)) == ((LOT,), ())
    before = next(each for each in copies_of(tmp_path / "records.db") if each.why == RESTORED)
    restore(tmp_path / "records.db", before.path)
    with Workshop.open(tmp_path) as workshop:
        assert workshop.read(Offer) == (OFFER,)


def test_a_broken_copy_is_not_taken(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    used(tmp_path, "2026-11-02", monkeypatch, LOT, CAME)
    used(tmp_path, "2026-11-03", monkeypatch, OFFER)
    (copy,) = copies_of(tmp_path / "records.db")
    copy.path.write_bytes(b"no database")
    with pytest.raises(BadInput, match="copy"):
        restore(tmp_path / "records.db", copy.path)
    with Workshop.open(tmp_path) as workshop:
        assert workshop.read(Offer) == (OFFER,)


def test_of_many_daily_copies_the_oldest_go(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    used(tmp_path, "2027-01-01", monkeypatch, LOT, CAME)
    folder = tmp_path / "copies"
    folder.mkdir()
    for day in range(1, MOST + 5):
        (folder / f"records-{DAILY}-202510{day:02d}-080000.db").touch()
    used(tmp_path, "2027-01-02", monkeypatch, OFFER)
    names = sorted(each.name for each in folder.glob("*.db"))
    assert len(names) == MOST
    assert "20270102" in names[-1]
