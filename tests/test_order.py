"""Order files: what is read, and what is said of one that is wrong."""

from pathlib import Path

import pytest

from prepcheck.errors import OrderError
from prepcheck.order import Order, gtin_check_digit, load_order

HEAD = {
    "number": '"P-0417"',
    "client": '"Fernweh Tapes"',
    "title": '"Harbour Songs"',
    "catalogue": '"FWT 012"',
    "format": '"12-inch"',
}


def write(folder: Path, parts: list[str], **head: str) -> Path:
    lines = ["[order]", *(f"{key} = {value}" for key, value in {**HEAD, **head}.items())]
    for part in parts:
        lines += ["[[part]]", part]
    path = folder / "order.toml"
    path.write_text("\n".join(lines), encoding="utf-8")
    return path


def label(side: str, folder: Path | None = None) -> str:
    file = f"label-{side.lower()}.pdf"
    if folder is not None:
        (folder / file).write_bytes(b"%PDF-")
    return f'name = "label {side}"\nside = "{side}"\nfile = "{file}"'


def faults(path: Path) -> list[str]:
    with pytest.raises(OrderError) as caught:
        load_order(path)
    assert all(line.startswith(f"{path}: ") for line in caught.value.lines)
    return [line.removeprefix(f"{path}: ") for line in caught.value.lines]


# Worked examples of GS1 Sweden, GS1 India, GS1 UK and a UPC-A encyclopaedia entry, and the
# number in GS1's demonstration range that a public test suite gets right.
@pytest.mark.parametrize(
    ("digits", "check"),
    [
        ("730001100001", 7),
        ("890400021003", 7),
        ("501234567890", 0),
        ("03600024145", 7),
        ("952123456789", 9),
    ],
)
def test_check_digits_of_worked_examples(digits: str, check: int) -> None:
    assert gtin_check_digit(digits) == check


def test_a_whole_order(tmp_path: Path) -> None:
    (tmp_path / "sleeve.pdf").write_bytes(b"%PDF-")
    path = write(
        tmp_path,
        [
            label("A", tmp_path),
            label("b", tmp_path),
            'name="jacket"\nfile="sleeve.pdf"\npage=2\nspec="jacket-12in"\n'
            'inks=["Black", "PANTONE 021 C"]\nexpect=["FWT 012"]',
        ],
        speed="45",
        discs="1",
        barcode='"9 521234 567899"',
        quantity="300",
    )
    order = load_order(path)
    assert isinstance(order, Order)
    assert order.order.speed == "45"
    assert order.order.barcode == "9521234567899"
    assert [part.side for part in order.part] == ["A", "B", None]
    assert order.part[2].inks == ("Black", "PANTONE 021 C")
    assert order.part[2].page == 2


def test_files_may_lie_anywhere(tmp_path: Path) -> None:
    outside = tmp_path / "elsewhere" / "front.pdf"
    outside.parent.mkdir()
    outside.write_bytes(b"%PDF-")
    folder = tmp_path / "orders"
    folder.mkdir()
    path = write(
        folder,
        [f'name="front"\nfile="{outside}"', 'name="back"\nfile="../elsewhere/front.pdf"'],
    )
    assert len(load_order(path).part) == 2


@pytest.mark.parametrize("speed", ['"33 1/3"', '"33⅓"', "33", '"33"'])
def test_ways_to_write_the_speed(tmp_path: Path, speed: str) -> None:
    path = write(tmp_path, [label("A", tmp_path), label("B", tmp_path)], speed=speed)
    assert load_order(path).order.speed == "33"


def test_unknown_keys_and_wrong_values(tmp_path: Path) -> None:
    path = write(
        tmp_path,
        ['name="x"\nflie="a.pdf"', 'name="y"\nfile="b.pdf"\npage=0\nside="AB"'],
        format='"12inch"',
        speed="16",
        disks="2",
        client='" "',
    )
    assert faults(path) == [
        "order.client: it is blank; write something, or leave the key out if it may be",
        "order.format: '12inch' is not allowed here; allowed: '7-inch', '10-inch' or '12-inch'",
        "order.speed: '16' is not allowed here; allowed: '33', '45' or '78'",
        "order.disks: unknown key; did you mean 'discs'?",
        "part[1].flie: unknown key; did you mean 'file'?",
        "part[2].side: 'AB' is not a side; write one letter such as 'A'",
        "part[2].page: 0 is not allowed; it must be at least 1",
    ]


def test_unknown_table(tmp_path: Path) -> None:
    path = tmp_path / "order.toml"
    path.write_text("[ordr]\nnumber = 1\n[[parts]]\nname='a'\n", encoding="utf-8")
    assert faults(path) == [
        "order: missing; it must be given",
        "part: missing; it must be given",
        "ordr: unknown key; did you mean 'order'?",
        "parts: unknown key; did you mean 'part'?",
    ]


@pytest.mark.parametrize(
    ("discs", "sides", "said"),
    [
        (
            1,
            "ABC",
            ["part[3].side: there is no side C; 1 disc in the order make sides A to B"],
        ),
    ],
)
def test_sides_that_do_not_add_up(tmp_path: Path, discs: int, sides: str, said: list[str]) -> None:
    path = write(tmp_path, [label(side, tmp_path) for side in sides], discs=str(discs))
    assert faults(path) == said


def test_a_side_given_twice(tmp_path: Path) -> None:
    second = label("A").replace("label A", "label A again")
    path = write(tmp_path, [label("A", tmp_path), second, label("B", tmp_path)])
    assert faults(path) == [
        "part: side A is given 2 times ('label A', 'label A again'); each side has one label"
    ]


def test_a_missing_side_is_no_fault_of_the_order_file(tmp_path: Path) -> None:
    path = write(tmp_path, [label("A", tmp_path)], discs="2")
    assert [part.side for part in load_order(path).part] == ["A"]


def test_an_order_without_labels_is_allowed(tmp_path: Path) -> None:
    (tmp_path / "sleeve.pdf").write_bytes(b"%PDF-")
    assert load_order(write(tmp_path, ['name="jacket"\nfile="sleeve.pdf"'])).part[0].side is None


def test_files_that_have_not_come_are_no_fault_of_the_order_file(tmp_path: Path) -> None:
    path = write(tmp_path, ['name="a"', 'name="b"\nfile="nowhere/front.pdf"'])
    assert [part.file for part in load_order(path).part] == [None, "nowhere/front.pdf"]


def test_folders_and_names_given_twice(tmp_path: Path) -> None:
    (tmp_path / "front.pdf").write_bytes(b"%PDF-")
    (tmp_path / "art").mkdir()
    path = write(
        tmp_path,
        [
            'name="a"\nfile="frnt.pdf"',
            'name="b"\nfile="art"',
            'name="c"\nfile="nowhere/front.pdf"',
            'name="c"\nfile="front.pdf"',
        ],
    )
    assert faults(path) == [
        "part: 2 parts are named 'c'; each needs its own name",
        "part[2].file: 'art': this is a folder; name one file in it",
    ]


@pytest.mark.parametrize(
    ("barcode", "said"),
    [
        # A demonstration number of a public test suite whose check digit is wrong.
        ('"9521234567890"', "asks for 9"),
        ('"95212345"', "asks for"),
        ('"952123456789"', "asks for"),
        ('"12345"', "is no barcode number"),
        ('"95212345678 9X"', "is no barcode number"),
        ('"0000000000000"', "all zeros"),
    ],
)
def test_barcodes(tmp_path: Path, barcode: str, said: str) -> None:
    (line,) = faults(write(tmp_path, [label("A", tmp_path), label("B", tmp_path)], barcode=barcode))
    assert line.startswith("order.barcode: ")
    assert said in line


def test_bad_toml_and_missing_file(tmp_path: Path) -> None:
    path = tmp_path / "order.toml"
    assert faults(path) == ["there is no such file"]
    path.write_text("[order]\nnumber = \n", encoding="utf-8")
    (line,) = faults(path)
    assert "line 2" in line


# What no order has


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ("a = " + "[" * 1000 + "]" * 1000, "nested too deep"),
        ("a = " + "{a=" * 1000 + "1" + "}" * 1000, "nested too deep"),
        ("[order]\nquantity = " + "9" * 5000, "a number with thousands of digits"),
        ("a = '" + "x" * 5_000_000 + "'", "larger than 4 MB"),
    ],
)
def test_toml_that_is_too_much_is_one_line(text: str, said: str, tmp_path: Path) -> None:
    path = tmp_path / "order.toml"
    path.write_text(text)
    (line,) = faults(path)
    assert said in line


@pytest.mark.parametrize(
    ("part", "said"),
    [
        (f'name = "{"n" * 100_000}"\nfile = "a.pdf"', "part[1].name: 100000 characters are too"),
        (f'name = "A"\nfile = "{"f" * 300}.pdf"', "part[1].file: 'fff"),
        (f'name = "A"\nfile = "{"f/" * 3000}.pdf"', "part[1].file: 6004 characters are too many"),
        ('name = "A"\nfile = "a\\u0000.pdf"', "holds a character that no file name can hold"),
        (f'name = "A"\nfile = "a.pdf"\nexpect = ["{"e" * 3000}"]', "part[1].expect[1]: 3000"),
    ],
)
def test_names_and_texts_have_a_greatest_length(part: str, said: str, tmp_path: Path) -> None:
    (tmp_path / "a.pdf").write_bytes(b"%PDF-")
    (line,) = faults(write(tmp_path, [part]))
    assert said in line
    assert len(line) < 500


def test_a_title_of_the_greatest_length_is_taken(tmp_path: Path) -> None:
    title = "ア" * 250
    path = write(tmp_path, [label("A", tmp_path)], title=f'"{title}"')
    assert load_order(path).order.title == title
    assert "at most 250" in faults(write(tmp_path, [label("A")], title=f'"{title}ア"'))[0]
