"""The files of a report: the same bytes twice, well formed, harmless for any name."""

from __future__ import annotations

import csv
import hashlib
import io
import json
import re
import zipfile
from dataclasses import replace
from pathlib import Path
from xml.etree import ElementTree

import pytest
from markdown_it import MarkdownIt

from edgewear.dataset.ranking.variance_split import SpreadShares
from edgewear.errors import CannotCreate
from edgewear.report import page, write
from edgewear.report.drawings import charts
from edgewear.report.formats import markdown, table_csv
from edgewear.report.formats.escape import cleaned, markup, style_string
from edgewear.report.parts import card, comparison
from support import rankings

TEXT = "{urn:oasis:names:tc:opendocument:xmlns:text:1.0}"


def digests(folder: Path) -> dict[str, str]:
    """Checksum of every file below a folder."""
    return {
        str(path.relative_to(folder)): hashlib.sha256(path.read_bytes()).hexdigest()
        for path in sorted(folder.rglob("*"))
        if path.is_file()
    }


def test_the_same_dataset_twice_gives_the_same_bytes(ordinary: Path, tmp_path: Path) -> None:
    write.write_sources([rankings.source_of(rankings.ordinary())], tmp_path)
    again = digests(tmp_path)
    assert again == digests(ordinary)
    for name in (*write.FILES, "pictures/d1-sheath-left.svg", "cards/option-1.html"):
        assert name in again


def test_a_report_written_over_an_older_one_leaves_nothing_of_it(tmp_path: Path) -> None:
    of = rankings.ordinary()
    write.write_sources([rankings.source_of(of)], tmp_path)
    mine = tmp_path / "pictures" / "a photo of mine.svg"
    mine.write_text("<svg/>")
    fewer = replace(of, options=of.options[1:])
    write.write_sources([rankings.source_of(fewer)], tmp_path)
    assert [path.name for path in (tmp_path / "cards").iterdir()] == ["option-1.html"]
    assert not list((tmp_path / "pictures").glob("d1-o5-*"))
    assert mine.is_file()


def test_a_folder_that_cannot_be_made_is_said(tmp_path: Path) -> None:
    blocked = tmp_path / "file"
    blocked.write_text("")
    with pytest.raises(CannotCreate, match="cannot make this folder"):
        write.write_sources([rankings.source_of(rankings.ordinary())], blocked / "out")


def test_a_file_that_cannot_be_written_is_said(tmp_path: Path) -> None:
    (tmp_path / "report.html").mkdir()
    with pytest.raises(CannotCreate, match=r"report\.html"):
        write.write_sources([rankings.source_of(rankings.ordinary())], tmp_path)


@pytest.mark.parametrize("kind", ["ordinary", "hostile"])
def test_every_picture_is_well_formed_and_has_words(
    kind: str, request: pytest.FixtureRequest
) -> None:
    pictures = sorted((request.getfixturevalue(kind) / "pictures").glob("*.svg"))
    assert len(pictures) >= 15
    for path in pictures:
        root = ElementTree.fromstring(path.read_bytes())
        kinds = [one.tag.rpartition("}")[2] for one in root.iter()]
        assert kinds.count("title") == 1
        assert kinds.count("desc") == 1
        assert "script" not in kinds
        assert "image" not in kinds
        assert "var(" not in path.read_text("utf-8")


def test_identities_on_the_page_are_unique(ordinary: Path) -> None:
    text = (ordinary / "report.html").read_text("utf-8")
    found = re.findall(r'\sid="([^"]+)"', text)
    assert len(found) == len(set(found))
    for wanted in re.findall(r'aria-labelledby="([^"]+)"', text):
        assert set(wanted.split()) <= set(found)


def test_hostile_names_are_shown_but_never_obeyed_on_the_page(hostile: Path) -> None:
    text = (hostile / "report.html").read_text("utf-8")
    assert "<script>alert" not in text
    assert "&lt;script&gt;alert" in text
    for name in rankings.HOSTILE[2:5]:
        assert f"<bdi>{name}</bdi>" in text
    assert "\x1b" not in text


def test_hostile_names_stay_text_in_markdown() -> None:
    text = markdown.write(page.sheet([rankings.source_of(rankings.hostile())]))
    parsed = MarkdownIt("commonmark").enable("table").parse(text)
    inner = [child for token in parsed for child in token.children or ()]
    assert not [token for token in [*parsed, *inner] if token.type.startswith("html")]
    assert not [token for token in inner if token.type == "link_open"]
    shown = "".join(child.content for child in inner)
    assert '<script>alert("x")</script>' in shown
    assert "| `code` *bold*" in shown


def test_strong_words_are_parted_from_what_follows() -> None:
    text = markdown.write(page.sheet([rankings.source_of(rankings.ordinary())]))
    assert "**Why not a higher level:** edge avoided" in text
    assert not re.search(r":\*\*\w", text)


def test_markdown_tables_have_as_many_cells_in_every_row() -> None:
    text = markdown.write(page.sheet([rankings.source_of(rankings.hostile())]))
    tables = re.findall(r"(?:^\|.*\|\n)+", text, re.M)
    assert len(tables) >= 4
    for table in tables:
        counts = {len(re.findall(r"(?<!\\)\|", line)) for line in table.splitlines()}
        assert len(counts) == 1


def test_every_picture_that_markdown_names_is_there(ordinary: Path) -> None:
    text = (ordinary / "report.md").read_text("utf-8")
    named = re.findall(r"\]\((pictures/[^)]+)\)", text)
    assert len(named) == len(list((ordinary / "pictures").iterdir()))
    assert all((ordinary / name).is_file() for name in named)


@pytest.mark.parametrize("kind", ["ordinary", "hostile"])
def test_the_text_document_is_one_that_word_processors_read(
    kind: str, request: pytest.FixtureRequest
) -> None:
    with zipfile.ZipFile(request.getfixturevalue(kind) / "report.odt") as archive:
        first = archive.infolist()[0]
        assert first.filename == "mimetype"  # OpenDocument 1.3, part 2, 3.3: first, stored
        assert first.compress_type == zipfile.ZIP_STORED
        assert archive.testzip() is None
        manifest = archive.read("META-INF/manifest.xml").decode()
        for name in archive.namelist():
            if name.endswith((".xml", ".svg")):
                ElementTree.fromstring(archive.read(name))
            if name not in ("mimetype", "META-INF/manifest.xml"):
                assert f'"{name}"' in manifest
        content = ElementTree.fromstring(archive.read("content.xml"))
    headings = list(content.iter(f"{TEXT}h"))
    assert {heading.attrib[f"{TEXT}outline-level"] for heading in headings} >= {"1", "2"}


def test_no_cell_of_the_table_is_a_formula(hostile: Path) -> None:
    text = (hostile / "table.csv").read_bytes().decode("utf-8-sig")
    rows = list(csv.DictReader(io.StringIO(text)))
    assert len(rows) == 5
    for row in rows:
        for cell in row.values():
            if not re.fullmatch(r"-?[\d.]+(e[-+]?\d+)?", cell):
                assert not cell.lstrip().startswith(("=", "+", "-", "@", "\t", "|"))
    assert rows[1]["option"] == "'" + rankings.HOSTILE[1]


@pytest.mark.parametrize("lead", ["=1", " =1", "\u00a0=1", "@x", "+1", "-1", "\t=1", "|x"])
def test_every_way_to_begin_a_formula_is_neutralised(lead: str) -> None:
    assert table_csv.neutral(lead) == "'" + lead
    assert table_csv.neutral("pad, sleeve") == "pad, sleeve"


@pytest.mark.parametrize("name", [*rankings.HOSTILE, "\x00\ud800\u202e\u2066"])
def test_escaped_texts_are_well_formed_wherever_they_stand(name: str) -> None:
    ElementTree.fromstring(f'<a b="{markup(name)}">{markup(name)}</a>')
    string = style_string(name)
    assert string[0] == string[-1] == '"'
    assert not set('"\\<>\n') & set(re.sub(r"\\[0-9a-f]{6} ", "", string[1:-1]))
    assert "\u202e" not in cleaned(name)


def test_every_picture_of_a_report_is_known_as_its_own(ordinary: Path) -> None:
    assert all(write.OWN_PICTURE.fullmatch(p.name) for p in (ordinary / "pictures").iterdir())
    assert all(write.OWN_CARD.fullmatch(p.name) for p in (ordinary / "cards").iterdir())


def test_what_nobody_knows_is_told_from_what_differs_each_time() -> None:
    split = rankings.option("split", spread=SpreadShares(0.8, 0.2))
    text = markdown.write(page.sheet([rankings.source_of(rankings.ranking(split))]))
    assert "share that nobody knows" in text
    assert "split about 80 %." in text


def test_a_card_is_offered_only_for_options_that_meet_the_target(ordinary: Path) -> None:
    of = rankings.ordinary()
    assert [card.offered(option) for option in of.options] == [True, True, False, False, False]
    assert len(list((ordinary / "cards").iterdir())) == 2


def test_the_card_tells_what_to_watch() -> None:
    of = rankings.ordinary()
    text = re.sub("<[^>]+>", " ", card.write(of, of.options[0]))
    shown = " ".join(text.split())
    for words in (
        "first: 6.0 m climbed or 15 min or 17 strokes",
        "then every: 4.0 m climbed or 10 min or 11 strokes",
        "31 mm to 83 mm",
        "110 mm",
        "1.4 kN 1.9 kN",
        "18° below level",
        "takes 45.2 m of 60.0 m",
        "edge attendant",
        "Rescue",
        "Hold points",
        "15.0 kN",
    ):
        assert words in shown


def test_a_card_without_surveyed_loads_gives_the_sampled_one() -> None:
    drawn_only = rankings.option("given bends", facts={"drawing": {}})
    shown = card.write(rankings.ranking(drawn_only), drawn_only)
    assert "Load at the anchor in work: 1.9 kN, high end 2.6 kN" in shown
    assert "nothing was surveyed" in shown


def test_two_datasets_stand_beside_each_other_with_what_changed() -> None:
    now = rankings.ordinary()
    then = replace(
        rankings.ranking(
            rankings.option("re-anchored", margin=rankings.Quantiles(0.5, 0.6, 0.7), rank=None,
                            status=("misses target",)),
            title="Bearing inspection, a year before",
        ),
        scenario_text="edgewear: 1\nropes: old\n", seed=3, scenario_sha256="cd" * 32,
    )  # fmt: skip
    now = replace(now, scenario_text="edgewear: 1\nropes: new\n")
    text = page.write([rankings.source_of(now), rankings.source_of(then)])
    shown = " ".join(re.sub("<[^>]+>", " ", text).split())
    for words in ("a year before", "50 %", "- ropes: old", "+ ropes: new", "3 then, 7 now",
                  "was not compared", "cdcdcdcdcdcd"):  # fmt: skip
        assert words in shown


def test_two_equal_inputs_are_said_to_be_equal() -> None:
    of = rankings.source_of(rankings.ordinary())
    assert "The input is the same, word for word." in page.write([of, of])
    assert comparison.difference("a\nb", "a\nb") == []
    assert comparison.difference("a\nb", "a\nc") == ["- b", "+ c"]


def test_a_thinned_curve_keeps_its_ends_and_extremes() -> None:
    xs = [float(index) for index in range(5000)]
    ys = [0.0] * 5000
    ys[1234], ys[4321] = 7.0, -3.0
    thinned = charts.thin(xs, ys, 200)
    assert len(thinned) <= 203
    assert thinned[0] == (0.0, 0.0)
    assert thinned[-1] == (4999.0, 0.0)
    assert {(1234.0, 7.0), (4321.0, -3.0)} <= set(thinned)
    assert thinned == sorted(thinned)


def test_the_page_says_how_to_get_the_same_dataset_again(ordinary: Path) -> None:
    text = (ordinary / "report.html").read_text("utf-8")
    assert "edgewear compare scenario.yaml --replicates 256 --seed 7" in text
    assert "ab" * 32 in text
    assert "edgewear: 1" in text


def test_the_ranking_as_json_has_no_value_that_json_lacks() -> None:
    json.dumps(rankings.ordinary().as_json(), allow_nan=False)
