"""What had another name in the version before is read for this one, and the new name is said."""

from pathlib import Path

import pytest

from optiform.cli import main
from optiform.costs.file import read_costs
from optiform.ingredients.catalogue import read_catalogue
from optiform.reading import run
from optiform.reading.faults import BadInput
from optiform.reading.paths import DEMO
from optiform.workshop.engine import FILE, OLD_FILE
from optiform.workshop.records import Lot
from optiform.workshop.store import Workshop
from tests.workshop.samples import CAME, LOT

CAPTURE = pytest.CaptureFixture[str]


@pytest.fixture
def old(tmp_path: Path) -> Path:
    """A folder with records under their old name."""
    with Workshop.open(tmp_path) as workshop:
        workshop.add(LOT, CAME)
    (tmp_path / FILE).rename(tmp_path / OLD_FILE)
    return tmp_path


def test_records_under_their_old_name_go_on_being_used(old: Path, capsys: CAPTURE) -> None:
    assert main(["stock", "receive", "glycerin", "1 kg", "--lot", "G-7", "--records", str(old)]) == 0
    assert f"a new folder's records are in {FILE}" in capsys.readouterr().err
    assert not (old / FILE).exists()
    with Workshop.open(old / OLD_FILE, create=False) as workshop:
        assert [lot.number for lot in workshop.read(Lot)] == [LOT.number, "G-7"]


def test_they_are_found_in_the_current_folder_too(old: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.chdir(old)
    assert main(["stock"]) == 0


def test_records_under_both_names_are_those_of_the_new(old: Path, capsys: CAPTURE) -> None:
    Workshop.open(old / FILE).close()
    assert main(["stock", "--records", str(old), "--json"]) == 0
    out, errors = capsys.readouterr()
    assert LOT.number not in out
    assert errors == ""


def test_a_new_folder_gets_the_new_name(tmp_path: Path) -> None:
    Workshop.open(tmp_path / "shop").close()
    assert [path.name for path in (tmp_path / "shop").iterdir()] == [FILE]


def test_the_price_steps_were_a_ladder_before(tmp_path: Path) -> None:
    text = (DEMO / "costs.toml").read_text(encoding="utf-8")
    path = tmp_path / "costs.toml"
    catalogue = read_catalogue()
    path.write_text(text.replace("wholesale = 2\n", "wholesale = 1.7\n"), encoding="utf-8")
    now = read_costs(path, catalogue, "EUR")
    path.write_text(path.read_text().replace("[price_steps]", "[ladder]"), encoding="utf-8")
    with run.begun() as noted:
        assert read_costs(path, catalogue, "EUR") == now
    assert now.wholesale == 1.7
    assert noted.notes == [(str(path), "ladder is now called price_steps; the old name is read for one version more")]


def test_a_key_under_both_names_is_a_fault(tmp_path: Path) -> None:
    path = tmp_path / "costs.toml"
    path.write_text((DEMO / "costs.toml").read_text(encoding="utf-8") + "\n[ladder]\nretail = 3\n", encoding="utf-8")
    with pytest.raises(BadInput, match="There is no key ladder"):
        read_costs(path, read_catalogue(), "EUR")
