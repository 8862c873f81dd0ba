"""Bad input: a corpus of files nobody should send, and texts at random. A reader answers or says what is wrong.

The corpus is read in a process of its own, so that its memory and its opened files are those of the readers alone. A
case that hangs ends that process, which then says where it was.
"""

import json
import subprocess
import sys
from pathlib import Path
from typing import Any

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from optiform.brief.file import read_brief
from optiform.label.list_text import parse_label
from optiform.reading.documents import DOTS, LARGEST, document_of
from optiform.reading.faults import MOST, BadInput, Fault, Inspection, printable
from tests.fuzz.corpus import SOUND, cases
from tests.fuzz.targets import TARGETS, WORDS
from tests.sweeps import is_long

ROOT = Path(__file__).parent.parent
MEMORY = 500_000_000


#: Least number of cases that are read, and that are refused; what is in the long tier is read whole there.
PARTS = {
    "archive": (70, 700), "brief": (50, 550), "formula-document": (80, 450), "formula-table": (15, 430),
    "label": (100, 60), "own-table": (80, 350), "traps": (0, 110), "sample": (20, 80),
}  # fmt: skip


@pytest.fixture(
    scope="module", params=[pytest.param(part, marks=pytest.mark.long) if part != "sample" else part for part in PARTS]
)
def corpus(request: pytest.FixtureRequest, tmp_path_factory: pytest.TempPathFactory) -> dict[str, Any]:
    """What became of every case of a reader, each in a process of its own."""
    folder = tmp_path_factory.mktemp("corpus")
    run = [sys.executable, "-B", "-m", "tests.fuzz.child", str(folder), request.param]
    done = subprocess.run(run, cwd=ROOT, capture_output=True, text=True, timeout=600, check=False)
    assert done.returncode == 0, done.stderr[-3000:]
    told: dict[str, Any] = json.loads(done.stdout)
    return told | {"part": request.param}


def test_the_corpus_is_large_and_has_both_kinds(corpus: dict[str, Any]) -> None:
    least_read, least_refused = PARTS[corpus["part"]]
    assert corpus["read"] >= least_read
    assert corpus["refused"] >= least_refused


def test_every_reader_has_its_cases_and_a_run_of_its_own() -> None:
    every = cases()
    assert {target for _, target, _ in every} == set(TARGETS)
    assert set(PARTS) == {*TARGETS, "traps", "sample"}
    assert len(every) >= 2300


def test_each_case_is_read_or_refused_with_file_place_reading_and_expectation(corpus: dict[str, Any]) -> None:
    assert corpus["broken"] == []


def test_nothing_is_written_outside_the_folder_and_nothing_foreign_read(corpus: dict[str, Any]) -> None:
    assert corpus["opened"] == []


def test_no_case_takes_the_memory(corpus: dict[str, Any]) -> None:
    assert corpus["memory"] < MEMORY


@pytest.mark.parametrize("target", sorted(SOUND))
def test_the_sound_files_of_the_corpus_are_sound(tmp_path: Path, target: str) -> None:
    """Else a hazard put into them would be lost among other faults."""
    for text in SOUND[target]:
        assert TARGETS[target](tmp_path, text.encode()) == ()


@st.composite
def texts(draw: st.DrawFn, target: str) -> bytes:
    """A sound file with pieces cut, doubled and replaced by words of the readers and by any characters at all."""
    text = draw(st.sampled_from(SOUND[target]))
    for _ in range(draw(st.integers(1, 5))):
        start = draw(st.integers(0, len(text)))
        end = draw(st.integers(start, min(len(text), start + 30)))
        new = draw(st.one_of(st.sampled_from(WORDS), st.text(max_size=8), st.just(text[start:end] * 2)))
        text = text[:start] + new + text[end:]
    return text.encode("utf-8", "surrogatepass")


@pytest.mark.hypothesis
@pytest.mark.sweep
@pytest.mark.parametrize("target", sorted(TARGETS))
def test_any_text_whatever(target: str, tmp_path: Path) -> None:
    @settings(max_examples=60 if is_long() else 20, suppress_health_check=list(HealthCheck))
    @given(content=texts(target))
    def tried(content: bytes) -> None:
        TARGETS[target](tmp_path, content)

    tried()


# -- one test for each defect that the corpus, the random texts or the coverage-guided runs found ---------------------


def told(tmp_path: Path, target: str, content: str) -> list[str]:
    found = TARGETS[target](tmp_path, content.encode())
    return [f"{fault.place}: read {fault.read}, expected {fault.expected}" for fault in found]


@pytest.mark.parametrize("name", ["../own.csv", "/etc/hostname", "a/../../own.csv", ""])
@pytest.mark.parametrize("line", ["own_files = ['{}']", "reference = '{}'", "goal = {{ nearest = '{}' }}"])
def test_a_brief_names_files_in_its_own_folder_only(tmp_path: Path, line: str, name: str) -> None:
    folder = tmp_path / "brief"
    folder.mkdir()
    (tmp_path / "own.csv").write_text("ingredient,percent\nwater,100\n")
    (told_of,) = [words for words in told(folder, "brief", line.format(name) + "\n") if "the name of a file" in words]
    assert told_of.startswith(("own_files: read ", "reference: read ", "[goal] nearest: read "))


def test_a_folder_below_the_brief_is_its_own(tmp_path: Path) -> None:
    (tmp_path / "tables").mkdir()
    (tmp_path / "tables" / "own.csv").write_text("ingredient,price (EUR/kg)\nwater,1\n")
    (tmp_path / "brief.toml").write_text('own_files = ["tables/own.csv"]\n')
    assert [item.name for item in read_brief(tmp_path / "brief.toml").mix.ingredients] == ["water"]


def test_a_whole_number_too_long_to_be_written_out(tmp_path: Path) -> None:
    """Python refuses to turn it into text, which is what a message would have to do."""
    (first, *_) = told(tmp_path, "brief", "batch = 0x" + "f" * 20_000 + "\n")
    assert first == "batch: read 'a whole number of 80000 bits', expected a number of ordinary size"


@pytest.mark.parametrize("text", ["a" + ".a" * 250 + " = 1", "[" + "a." * 250 + "a]\n", "x = " + "[" * 50 + "]" * 50])
def test_a_document_deeper_than_a_message_can_show(text: str) -> None:
    with pytest.raises(BadInput, match="more than 8 levels"):
        document_of(text, "brief.toml")


def test_a_dotted_key_so_long_that_parsing_it_takes_the_memory() -> None:
    with pytest.raises(BadInput, match=rf"line 2: 5000 dots is too much. It must be at most {DOTS} in a line"):
        document_of("# " + "." * 5000 + "\n" + "a." * 5000 + "a = 1", "brief.toml")


def test_a_document_too_large_to_be_a_brief(tmp_path: Path) -> None:
    (only,) = told(tmp_path, "brief", "#" * (LARGEST + 1))
    assert only == f"file: read {LARGEST + 1} bytes, expected at most {LARGEST} bytes"


def test_a_key_without_a_name_has_a_place_all_the_same(tmp_path: Path) -> None:
    assert told(tmp_path, "brief", '"" = 1\n')[0].startswith("a key without a name: read 1,")


@pytest.mark.parametrize("unit", ["((((", "9**9**9**9", "kg) or (m", "1/0", "__class__"])
def test_what_stands_for_a_unit_in_a_header_is_not_worked_out(tmp_path: Path, unit: str) -> None:
    (only,) = told(tmp_path, "own-table", f"ingredient,slip ({unit})\nglycerin,5 kg\n")
    assert only.startswith("row 2, column slip")


@pytest.mark.parametrize("row", ["water,9 EUR/yg,,", "water,,900000000000,1e-6 kg", "water,900000000000 EUR/mg,,"])
def test_a_price_that_grows_beyond_numbers_of_ordinary_size(tmp_path: Path, row: str) -> None:
    (only,) = told(tmp_path, "own-table", f"ingredient,price,pack price (EUR),pack\n{row}\n")
    assert "a number of ordinary size" in only


@pytest.mark.parametrize("sign", ["\x1b", "\x07", "\x7f", "\u202e", "\u2066", "\u2028", "\x00"])
def test_what_a_terminal_would_act_on_is_neither_read_nor_shown(tmp_path: Path, sign: str) -> None:
    for target, text in (("own-table", f"ingredient\nwa{sign}ter\n"), ("label", f"Aqua\nGlyc{sign}erin")):
        assert told(tmp_path, target, text) == [f"line 2: read the character U+{ord(sign):04X}, expected plain text"]
    escaped = f"\\u{ord(sign):04x}"
    (first, *_) = told(tmp_path, "brief", f'title = "a{escaped}b"\n')
    assert first == f"title: read 'the character U+{ord(sign):04X}', expected plain text"
    assert sign not in str(Fault(f"a{sign}b", f"a{sign}b", f"a{sign}b", f"a{sign}b"))


def test_a_fault_of_any_length_is_shown_short() -> None:
    fault = Fault("file", "p" * 10_000, "r" * 10_000, "e" * 10_000)
    assert len(str(fault)) < 4000
    assert printable("caf\u00e9 \udcff") == "caf\u00e9 \\udcff"


def test_after_a_hundred_faults_of_one_file_the_rest_is_only_mentioned(tmp_path: Path) -> None:
    """Names that look like an unknown one take a while to find: five thousand of them took half a minute."""
    rows = "".join(f"unheard of {k},1\n" for k in range(5000))
    found = told(tmp_path, "formula-table", f"ingredient,percent\n{rows}")
    assert len(found) == MOST
    inspection = Inspection("f")
    for number in range(MOST + 5):
        inspection.fault(f"row {number}", "x", "y")
    assert len(inspection.faults) == MOST
    assert inspection.faults[-1].place == "the rest"


@pytest.mark.parametrize(
    ("target", "content"),
    [
        ("own-table", "ingredient,price\nwater,1" + " " * 1900 + "!\n"),
        ("own-table", "ingredient,hlb\nwater,1 y" + " " * 1900 + "z\n"),
        ("own-table", "ingredient,a" + " " * 90_000 + "b\nwater,1\n"),
        ("own-table", "ingredient," + "c," * 100_000 + "\nwater,1\n"),
        ("brief", '[limits]\n"oil phase' + " in the base" * 2000 + '" = 1\n'),
        ("brief", '[limits]\n"oil phase" = "1 ' + "y " * 900 + '"\n'),
        ("label", "Aqua" + " " * 90_000 + "x, Glycerin"),
        ("label", "Aqua" + "\n" * 90_000 + "x, Glycerin"),
    ],
    ids=["price", "quantity", "header", "columns", "property", "of base", "blanks", "lines"],
)
def test_long_blanks_and_many_words_do_not_keep_a_reader_busy(tmp_path: Path, target: str, content: str) -> None:
    """Patterns that look for blanks took minutes or the stack; here it is enough that it ends."""
    TARGETS[target](tmp_path, content.encode())


def test_blanks_in_a_label_are_one_blank() -> None:
    assert parse_label("Aqua \n\n\t Glycerin\n").names == ("Aqua", "Glycerin")
