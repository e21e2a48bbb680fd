"""Files named freely find their parts by what they are."""

from __future__ import annotations

import random
import shutil
from itertools import permutations
from pathlib import Path

import pytest
from reportlab.graphics import renderPDF
from reportlab.graphics.barcode.eanbc import Ean13BarcodeWidget
from reportlab.graphics.shapes import Drawing
from reportlab.pdfgen.canvas import Canvas

from prepcheck.errors import UsageError
from prepcheck.geometry import Box
from prepcheck.intake.aside import aside
from prepcheck.intake.deliver import Prepared, delivered
from prepcheck.intake.look import Seen, SeenPage
from prepcheck.intake.match import match
from prepcheck.intake.wanted import Earlier, Wanted
from prepcheck.order import load_order
from prepcheck.run.recognise import PossiblePiece
from prepcheck.sheets.digest import LiveWords
from prepcheck.spec.load import load_spec
from tests.intake.archives import zipped
from tests.intake.labels import MM, label_pages, order_of, side_lines
from tests.run.art import label_pdf

SAMPLES = Path(__file__).parents[2] / "sample_art"


def prepared(tmp_path: Path, arts: list[Path], order: Path, **options: object) -> Prepared:
    with aside() as into:
        return delivered(arts, order, into=into, **options)  # type: ignore[arg-type]


def taken(found: Prepared) -> dict[str, tuple[str, int | None]]:
    return {
        task.name: (task.file, None if task.part is None else task.part.page)
        for task in found.batch.tasks
    }


@pytest.mark.parametrize("folder", ["clear", "gatefold"])
def test_a_sample_order_under_other_names(tmp_path: Path, folder: str) -> None:
    import tomllib

    order = SAMPLES / folder / "order.toml"
    parts = tomllib.loads(order.read_text(encoding="utf-8"))["part"]
    rng = random.Random(folder)
    bare = tmp_path / "order"
    bare.mkdir()
    shutil.copy(order, bare / "order.toml")
    names = {
        part["file"]: f"{rng.randrange(10**6):06}{Path(part['file']).suffix}" for part in parts
    }
    data = {names[name]: (SAMPLES / folder / name).read_bytes() for name in sorted(names)}
    path = zipped(tmp_path / "from-client.zip", data, stored=True)
    found = prepared(tmp_path, [path], bare / "order.toml", jobs=2)
    truth = {part["name"]: names[part["file"]] for part in parts}
    right = {name: file.rpartition("/")[2] for name, (file, _) in taken(found).items()}
    # The two inner bags of the gatefold differ in nothing the order says: they may be asked about.
    asked = {name for name in truth if name not in right}
    assert asked <= {"Inner bag 1", "Inner bag 2"}
    assert right == {name: file for name, file in truth.items() if name not in asked}
    assert sum("say which with --as" in line for line in found.told) == len(asked)


@pytest.mark.parametrize("sides", ["AB", "ABCD"])
@pytest.mark.parametrize("way", ["type", "titles", "names"])
def test_sides_by_what_tells_them(tmp_path: Path, sides: str, way: str) -> None:
    order = order_of(tmp_path, sides, expect=way == "titles")
    names = random.Random(way + sides).sample(range(1000), len(sides))
    files, truth = [], {}
    for side, number in zip(sides, names, strict=True):
        path = tmp_path / (
            f"final side {side} v{number}.pdf" if way == "names" else f"{number}.pdf"
        )
        lines = [] if way == "names" else side_lines(side, said=way == "type")
        path.write_bytes(label_pages([lines]))
        files.append(path)
        truth[f"Label {side}"] = (path.name, None)
    random.Random(1).shuffle(files)
    found = prepared(tmp_path, files, order)
    assert taken(found) == truth
    assert all(": its size" in line for line in found.told)


@pytest.mark.parametrize("order_of_pages", list(permutations("AB")))
@pytest.mark.parametrize("way", ["type", "titles"])
def test_a_part_a_page(tmp_path: Path, order_of_pages: tuple[str, ...], way: str) -> None:
    order = order_of(tmp_path, "AB", expect=way == "titles")
    path = tmp_path / "labels.pdf"
    pages = [side_lines(side, said=way == "type") for side in order_of_pages]
    path.write_bytes(label_pages(pages))
    found = prepared(tmp_path, [path], order)
    assert taken(found) == {
        f"Label {side}": ("labels.pdf", order_of_pages.index(side) + 1) for side in "AB"
    }


def test_pages_without_a_word_come_in_the_order_of_the_sides(tmp_path: Path) -> None:
    path = tmp_path / "labels.pdf"
    path.write_bytes(label_pages([[], [], [], []]))
    found = prepared(tmp_path, [path], order_of(tmp_path, "ABCD", expect=False))
    assert [page for _, page in taken(found).values()] == [1, 2, 3, 4]


def test_what_may_be_several_parts_is_asked_about(tmp_path: Path) -> None:
    order = order_of(tmp_path, "AB", expect=False)
    one, other = tmp_path / "x.pdf", tmp_path / "y.pdf"
    one.write_bytes(label_pages([["Moon"]]))
    other.write_bytes(label_pages([["Sun"]]))
    found = prepared(tmp_path, [one, other], order)
    assert taken(found) == {}
    assert len([line for line in found.told if "--as" in line]) == 2
    parts = [standing.result for standing in found.batch.standing]
    assert [part.received for part in parts] == [False, False]
    # Both files are one question about both parts.
    (asked,) = found.batch.findings
    assert (asked.severity.value, asked.code) == ("query", "which-file")
    assert asked.parts == ("Label A", "Label B")
    assert asked.message.startswith("x.pdf and y.pdf may each be Label A or Label B")
    told = prepared(tmp_path, [one, other], order, said={"x.pdf": "Label B"})
    assert taken(told) == {"Label A": ("y.pdf", None), "Label B": ("x.pdf", None)}


def test_a_barcode_in_bars_tells_the_jacket_of_this_order(tmp_path: Path) -> None:
    """Two jackets of one size without a word of type; the bars are drawn by ReportLab."""
    order = order_of(tmp_path, "AB", more='[[part]]\nname = "Jacket"\nspec = "jacket-7in"\n')
    text = order.read_text("utf-8").replace("discs =", 'barcode = "9522014000179"\ndiscs =')
    order.write_text(text, encoding="utf-8")
    files = []
    for name, number in (("x.pdf", "952201400018"), ("y.pdf", "952201400017")):
        canvas = Canvas(str(tmp_path / name), pagesize=(377 * MM, 190 * MM), invariant=1)
        canvas.setTrimBox((3 * MM, 3 * MM, 374 * MM, 187 * MM))
        drawing = Drawing(60 * MM, 40 * MM)
        drawing.add(
            Ean13BarcodeWidget(
                number, x=10 * MM, y=5 * MM, barWidth=0.33 * MM, barHeight=23 * MM, humanReadable=0
            )
        )
        renderPDF.draw(drawing, canvas, 100 * MM, 20 * MM)
        canvas.save()
        files.append(tmp_path / name)
    found = prepared(tmp_path, files, order)
    assert taken(found) == {"Jacket": ("y.pdf", None)}
    assert any("it carries the barcode 9522014000179" in line for line in found.told)


def test_two_versions_of_one_part_are_asked_about(tmp_path: Path) -> None:
    order = order_of(tmp_path, "AB")
    files = []
    for name in ("v1.pdf", "v2.pdf"):
        (tmp_path / name).write_bytes(label_pages([[*side_lines("A"), name]]))
        files.append(tmp_path / name)
    found = prepared(tmp_path, files, order)
    assert "Label A" not in taken(found)
    assert sum("--as" in line for line in found.told) == 2


def test_what_is_no_part_is_no_part(tmp_path: Path) -> None:
    order = order_of(tmp_path, "AB")
    label_pdf(tmp_path / "sticker.pdf", 50.0)
    (tmp_path / "a.pdf").write_bytes(label_pages([side_lines("A")]))
    found = prepared(tmp_path, [tmp_path / "sticker.pdf", tmp_path / "a.pdf"], order)
    assert taken(found) == {"Label A": ("a.pdf", None)}
    assert found.batch.spare == ("sticker.pdf",)
    with pytest.raises(UsageError, match="no part of the order"):
        prepared(tmp_path, [tmp_path / "sticker.pdf"], order)


def test_wrong_words_for_what_a_file_is(tmp_path: Path) -> None:
    order = order_of(tmp_path, "AB")
    (tmp_path / "a.pdf").write_bytes(label_pages([side_lines("A")]))
    with pytest.raises(UsageError, match="did you mean 'Label A'"):
        prepared(tmp_path, [tmp_path / "a.pdf"], order, said={"a.pdf": "Lable A"})
    with pytest.raises(UsageError, match="no such file in this delivery"):
        prepared(tmp_path, [tmp_path / "a.pdf"], order, said={"b.pdf": "Label A"})


def test_a_file_that_the_order_names_is_held_to_what_the_other_parts_were(tmp_path: Path) -> None:
    """Corrected art under the other label's name: its words are the other's."""
    order = load_order(order_of(tmp_path, "AB", expect=False, files={"A": "a.pdf", "B": "b.pdf"}))
    a, b = "Moon over the mill", "Sun on the weir"

    def seen(name: str, text: str) -> Seen:
        words = LiveWords(text, "", Box(0, 0, 10, 10))
        page = SeenPage(1, (100.0, 100.0), (PossiblePiece("label-12in", 0, 0.0),), (words,))
        return Seen(name, Path(name), name + text, (page,))

    def came(earlier: bool, **texts: str) -> dict[str, str]:
        spec = load_spec("label-12in")
        before = [Earlier("", "", seen("old.pdf", text)) if earlier else None for text in (a, b)]
        wanted = [Wanted(part, (spec,), e) for part, e in zip(order.part, before, strict=True)]
        files = [seen(f"{name}.pdf", text) for name, text in texts.items()]
        return {one.file.name: one.part for one in match(order, wanted, files).matches}

    right = {"a.pdf": "Label A", "b.pdf": "Label B"}
    assert came(True, a=f"{a} again", b="all written anew") == right
    assert came(True, a=f"{a} again", b=f"{b} again") == right
    assert came(False, a=b, b=a) == right, "nothing is known that says otherwise"
    for swapped in ({"a": f"{b} again", "b": f"{a} again"}, {"a": f"{b} again"}):
        wrong = came(True, **swapped).items() & right.items()
        assert not wrong, swapped
