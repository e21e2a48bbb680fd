"""Writes the sample art anew: `python sample_art/make.py [FOLDER]`.

Everything but this script, `drawing/` and `fonts/` is its output: orders that are clear, orders
that are faulty, one small file a fault, templates and a press sheet, and the manifest of what was
planted.
"""

from __future__ import annotations

import sys
from pathlib import Path

from drawing import clear, faulty, photo, templates
from drawing.brand import ARTIST, BARCODE, CATALOGUE, FIRM, ORDER, RUST_SPOT, TITLE
from drawing.gatefold import clear as gatefold
from drawing.gatefold import faulty as gatefold_faulty
from drawing.gatefold import seven
from drawing.gatefold import singles as gatefold_singles  # noqa: F401 (registers its files)
from drawing.manifest import Sound, written
from drawing.page import register_fonts
from drawing.singles import FAULTY, SOUND

PARTS = (
    # name, file without suffix, side, spec, inks, texts to expect
    ("Label A", "label-a", "A", "label-12in", ("Black", RUST_SPOT), (TITLE, CATALOGUE, "Side A")),
    ("Label B", "label-b", "B", "label-12in", ("Cyan", "Magenta", "Yellow", "Black"), ()),
    ("Jacket", "jacket", None, "jacket-12in", ("Cyan", "Magenta", "Yellow", "Black"),
     (ARTIST, TITLE, CATALOGUE)),
    ("Inner bag", "inner", None, "inner-12in", ("Black", RUST_SPOT), (CATALOGUE,)),
    ("Insert", "insert", None, "insert-12in", ("Black",), (CATALOGUE,)),
)  # fmt: skip
INSERT_INKS_FAULTY = ("Cyan", "Magenta", "Yellow", "Black")


def order(suffixes: dict[str, str], number: str, insert_inks: tuple[str, ...]) -> str:
    """Return an order file."""
    lines = [
        "[order]",
        f'number = "{number}"',
        f'client = "{FIRM}"',
        f'title = "{ARTIST}: {TITLE}"',
        f'catalogue = "{CATALOGUE}"',
        'format = "12-inch"',
        "discs = 1",
        'speed = "33"',
        f'barcode = "{BARCODE}"',
        "quantity = 500",
    ]
    for name, stem, side, spec, inks, texts in PARTS:
        inks = insert_inks if stem == "insert" else inks
        lines += [
            "",
            "[[part]]",
            f'name = "{name}"',
            f'file = "{stem}{suffixes.get(stem, ".pdf")}"',
        ]
        lines += [f'side = "{side}"'] if side else []
        lines += [f'spec = "{spec}"', f"inks = {_list(inks)}"]
        lines += [f"expect = {_list(texts)}"] if texts else []
    return "\n".join(lines) + "\n"


def _list(items: tuple[str, ...]) -> str:
    return "[" + ", ".join(f'"{item}"' for item in items) + "]"


def make_clear(folder: Path) -> None:
    cover, plate = folder / "cover.passing.jpg", folder / "plate.passing.jpg"
    photo.in_cmyk(photo.hills(2244, 2244, 5)).save(cover, quality=88)
    photo.in_grey(photo.hills(3371, 3371, 11) * 0.86 + 0.14).save(plate, quality=85)
    clear.label_a(folder / "label-a.pdf")
    clear.label_b().save(folder / "label-b.tif", compression="tiff_lzw", dpi=(300, 300))
    clear.jacket(folder / "jacket.pdf", cover)
    clear.inner(folder / "inner.pdf")
    clear.insert(folder / "insert.pdf", plate)
    cover.unlink()
    plate.unlink()
    (folder / "order.toml").write_text(order({"label-b": ".tif"}, f"{ORDER}-1", ("Black",)))


def make_faulty(folder: Path) -> None:
    faulty.label_a(folder / "label-a.pdf")
    faulty.label_b(folder / "label-b.jpg")
    faulty.jacket(folder / "jacket.pdf")
    faulty.inner(folder / "inner.pdf")
    faulty.insert(folder / "insert.pdf")
    text = order({"label-b": ".jpg"}, f"{ORDER}-2", INSERT_INKS_FAULTY)
    (folder / "order.toml").write_text(text)


def make_single(folder: Path) -> None:
    for file, (draw, _) in (*FAULTY.items(), *SOUND.items()):
        draw(folder / file)


def make_manifest(file: Path) -> None:
    faults = [fault for _, planted in FAULTY.values() for fault in planted]
    clear_parts = [
        Sound(f"clear/{stem}{'.tif' if stem == 'label-b' else '.pdf'}", spec, f"{name}, clear")
        for name, stem, _, spec, _, _ in PARTS
    ]
    sound = [
        *(entry for _, entry in SOUND.values()),
        *clear_parts,
        *gatefold.SOUND,
        *templates.SOUND,
    ]
    orders = (*faulty.FAULTS, *gatefold_faulty.FAULTS, *seven.FAULTS)
    file.write_text(written([*orders, *faults], sound))


def main(folder: Path) -> None:
    register_fonts()
    for name, make in (
        ("clear", make_clear),
        ("faulty", make_faulty),
        ("gatefold", gatefold.make),
        (gatefold_faulty.FOLDER, gatefold_faulty.make),
        (seven.FOLDER, seven.make),
        ("single", make_single),
    ):
        (folder / name).mkdir(parents=True, exist_ok=True)
        make(folder / name)
    templates.make(folder / "templates", folder / "clear")
    templates.make_sheet(folder / "sheet", folder / "clear")
    make_manifest(folder / "manifest.toml")


if __name__ == "__main__":
    main(Path(sys.argv[1]) if len(sys.argv) > 1 else Path(__file__).parent)
