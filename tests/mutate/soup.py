"""Pages of operators whose operands do not fit, over resources that do not fit either.

`python -m tests.mutate.soup 1000 [--from N]` follows so many for their places and their plates.
What damage does to an operator must be told as the file's, and the rest be followed; anything but
an ArtworkError that leaves the reading is a slip of ours.
"""

from __future__ import annotations

import argparse
import random
import tempfile
import traceback
from collections.abc import Iterator, Mapping
from pathlib import Path

from prepcheck.art.limits import Limits
from prepcheck.art.open import open_art
from prepcheck.errors import ArtworkError
from prepcheck.geometry import Affine, Box
from prepcheck.press.separate.plates import followed
from tests.art.pdf.walking import add_vera
from tests.factories import Pdf, Raw, Ref, Stream, serial

PAGE = Box(0.0, 0.0, 60.0, 60.0)
SMALL = Limits(stream_bytes=4_000_000, operators=20_000, forms=300, depth=12, shadings=40)

WILD = (
    0, 1, -1, 2, 3, 8, 255, 65536, 0.5, -0.25, 1e-9, Raw("9" * 45), Raw("-" + "9" * 45), Raw("1e9"),
    Raw("--5"), Raw("1.2.3"), Raw("."), Raw("null"), True, False, b"", b"text", b"\xff\xfe\xd8\x00",
    "Name", "", "DeviceCMYK", "N" * 300, (), (1, 2), (1, "A", b"x", None), {}, {"A": 1},
    {"Type": "Pattern"}, ((((),),),),
)  # fmt: skip
"""Operands and entries that hardly ever fit."""

NAMES = (
    "Sep", "Dev", "Idx", "Icc", "Lab", "Pat", "Fm", "Grp", "Im", "Msk", "G1", "G2", "Til", "Shp",
    "Ax", "Msh", "F1", "F3", "F0", "Oc",
)  # fmt: skip

FITTING: Mapping[str, tuple[object, ...]] = {
    "q": (), "Q": (), "cm": (0.9, 0.1, -0.1, 0.9, 5, 5), "w": (2,), "J": (1,), "j": (1,), "M": (4,),
    "d": ((3, 1), 0), "ri": ("Perceptual",), "i": (1,), "gs": ("G1",), "m": (10, 10), "l": (60, 60),
    "c": (10, 60, 60, 10, 90, 90), "v": (60, 10, 90, 90), "y": (10, 60, 90, 90), "h": (),
    "re": (10, 10, 50, 50), "S": (), "s": (), "f": (), "F": (), "f*": (), "B": (), "B*": (),
    "b": (), "b*": (), "n": (), "W": (), "W*": (), "BT": (), "ET": (), "Tc": (1,), "Tw": (1,),
    "Tz": (90,), "TL": (12,), "Tf": ("F1", 12), "Tr": (0,), "Ts": (1,), "Td": (20, 20),
    "TD": (20, 20), "Tm": (1, 0, 0, 1, 20, 20), "T*": (), "Tj": (b"Side A",),
    "TJ": ((b"Si", -200, b"de"),), "'": (b"B",), '"': (1, 1, b"C"), "d0": (500, 0),
    "d1": (500, 0, 0, 0, 500, 700), "CS": ("Sep",), "cs": ("Sep",), "SC": (0.5,), "SCN": (0.5,),
    "sc": (0.5,), "scn": (0.5,), "G": (0.5,), "g": (0.5,), "RG": (1, 0, 0), "rg": (1, 0, 0),
    "K": (1, 0, 0, 0), "k": (1, 0, 0, 0), "sh": ("Ax",), "Do": ("Fm",), "BMC": ("Span",),
    "BDC": ("OC", "Oc"), "EMC": (), "MP": ("A",), "DP": ("A", {}), "BX": (), "EX": (),
}  # fmt: skip
"""Every operator of ISO 32000-2, Annex A, with operands as they should be."""

TINT = {"FunctionType": 2, "Domain": [0, 1], "C0": [0, 0, 0, 0], "C1": [0, 0.3, 0.9, 0.1], "N": 1}
TABLE = Stream(
    bytes(range(64)),
    {"FunctionType": 0, "Domain": [0, 1], "Range": [0, 1] * 4, "Size": [16], "BitsPerSample": 8},
)
JOINED = {
    "FunctionType": 3, "Domain": [0, 1], "Bounds": [0.5], "Encode": [0, 1, 0, 1],
    "Functions": [TINT, TINT],
}  # fmt: skip
WORKED = Stream(
    b"{dup 0.3 mul exch dup 0.9 mul exch 0.1 mul 0 exch}",
    {"FunctionType": 4, "Domain": [0, 1], "Range": [0, 1] * 4},
)
FORM = {"Type": "XObject", "Subtype": "Form", "BBox": [0, 0, 90, 90], "Matrix": [1, 0, 0, 1, 3, 3]}
PICTURE = {
    "Type": "XObject", "Subtype": "Image", "Width": 4, "Height": 4, "BitsPerComponent": 8,
    "ColorSpace": "DeviceRGB",
}  # fmt: skip


def soup(number: int) -> bytes:
    """Return the page of a number: the same bytes every time."""
    chance = random.Random(f"soup {number}")
    pdf = Pdf("1.7")
    layer = pdf.add({"Type": "OCG", "Name": b"Art"})
    pdf.catalog["OCProperties"] = {"OCGs": [layer], "D": {}}
    resources = _resources(pdf, chance, layer)
    pictures = b"q 40 0 0 40 9 9 cm /Im Do Q q 30 0 0 30 70 9 cm /Msk Do Q "
    pdf.page(pictures + _content(chance, 30), (60, 60), resources=resources, millimetres=False)
    return pdf.bytes()


def _content(chance: random.Random, length: int) -> bytes:
    words = []
    for _ in range(length):
        operator = chance.choice(list(FITTING))
        operands = [*FITTING[operator]]
        match chance.randrange(6):
            case 0:
                operands = [chance.choice(WILD) for _ in operands]
            case 1 if operands:
                operands[chance.randrange(len(operands))] = chance.choice(WILD)
            case 2 if operands:
                del operands[chance.randrange(len(operands)) :]
            case 3:
                operands.insert(0, chance.choice(WILD))
            case _:
                operands = [chance.choice(NAMES) if one in NAMES else one for one in operands]
        words += [serial(one) for one in operands]
        words.append(operator.encode())
        if chance.random() < 0.05:
            words.append(b"BI /W 2 /H 2 /CS /%b /BPC %b ID abcd EI" % (
                chance.choice((b"G", b"RGB", b"Sep", b"X", b"I")),
                serial(chance.choice((8, 1, 3, 16, Raw("9" * 40)))),
            ))  # fmt: skip
    return b" ".join(words)


def _resources(pdf: Pdf, chance: random.Random, layer: Ref) -> dict[str, object]:
    def made(value: object) -> Ref:
        return pdf.add(_spoiled(value, chance))

    table, worked = pdf.add(_spoiled(TABLE, chance)), pdf.add(_spoiled(WORKED, chance))
    tint = made(chance.choice((TINT, table, JOINED, worked, [TINT] * 4)))
    one = made(chance.choice((
        {**TINT, "C0": [0], "C1": [1]}, {**JOINED, "Functions": [tint, tint]}, tint,
    )))  # fmt: skip
    separation = made(["Separation", "Gold", "DeviceCMYK", tint])
    spaces = {
        "Sep": separation,
        "Dev": made(["DeviceN", ["Gold"], "DeviceCMYK", tint]),
        "Idx": made(["Indexed", "DeviceRGB", 3, bytes(range(12))]),
        "Icc": made(["ICCBased", pdf.add(_spoiled(Stream(b"\0" * 140, {"N": 3}), chance))]),
        "Lab": made(["Lab", {"WhitePoint": [0.96, 1, 0.82], "Range": [-100, 100, -100, 100]}]),
        "Pat": made(["Pattern", chance.choice((separation, "DeviceCMYK"))]),
    }
    shading = {
        "ShadingType": chance.choice((1, 2, 3)), "ColorSpace": separation,
        "Coords": [10, 10, 5, 90, 90, 50][: chance.choice((4, 6))], "Function": one,
    }  # fmt: skip
    mesh = Stream(
        bytes(range(200)),
        {"ShadingType": chance.choice((4, 5, 6, 7)), "ColorSpace": "DeviceCMYK",
         "BitsPerCoordinate": 8, "BitsPerComponent": 8, "BitsPerFlag": 8, "VerticesPerRow": 3,
         "Decode": [0, 90, 0, 90] + [0, 1] * 4},
    )  # fmt: skip
    shadings = {"Ax": made(shading), "Msh": made(mesh)}
    inner = {"ColorSpace": spaces, "Shading": shadings}
    cell = {
        "PatternType": 1, "PaintType": chance.choice((1, 2)), "TilingType": 1,
        "BBox": [0, 0, 20, 20], "XStep": 20, "YStep": 20, "Resources": inner,
    }  # fmt: skip
    patterns = {
        "Til": made(Stream(_content(chance, 5), cell)),
        "Shp": made({"PatternType": 2, "Shading": shadings["Ax"]}),
    }
    form = made(Stream(_content(chance, 6), {**FORM, "Resources": {**inner, "Pattern": patterns}}))
    group = made(Stream(
        _content(chance, 6),
        {**FORM, "Group": {"S": "Transparency", "CS": "DeviceCMYK", "I": True}, "Resources": inner},
    ))  # fmt: skip
    picture = made(_picture(chance, (*spaces.values(),)))
    mask = made(Stream(b"\xaa" * 4, {
        **PICTURE, "ColorSpace": None, "BitsPerComponent": 1, "ImageMask": True,
    }))  # fmt: skip
    glyph = pdf.add(Stream(_content(chance, 4), {}))
    drawn = made({
        "Type": "Font", "Subtype": "Type3", "FontBBox": [0, 0, 700, 700], "FirstChar": 65,
        "LastChar": 67, "Widths": [500, 500, 500], "FontMatrix": [0.001, 0, 0, 0.001, 0, 0],
        "CharProcs": {"A": glyph, "B": glyph}, "Encoding": {"Differences": [65, "A", "B", "C"]},
        "Resources": inner,
    })  # fmt: skip
    composite = made({
        "Type": "Font", "Subtype": "Type0", "BaseFont": "Vera", "Encoding": "Identity-H",
        "DescendantFonts": [_spoiled({
            "Type": "Font", "Subtype": "CIDFontType2", "BaseFont": "Vera", "DW": 600,
            "W": [1, [500, 500], 5, 9, 300], "CIDToGIDMap": "Identity",
        }, chance)],
        "ToUnicode": pdf.add(Stream(
            b"1 beginbfrange <0000> <00ff> <0041> endbfrange 1 beginbfchar <01> <d800> endbfchar",
            {},
        )),
    })  # fmt: skip
    soft = {"S": chance.choice(("Luminosity", "Alpha")), "G": group, "BC": [0, 0, 0, 1]}
    state = {
        "LW": 2, "LC": 1, "D": [[2, 1], 0], "OP": True, "op": True, "OPM": 1, "ca": 0.5, "CA": 0.7,
        "BM": chance.choice(("Multiply", "Hue", ["Foo", "Normal"])), "Font": [drawn, 10],
    }  # fmt: skip
    return {
        **inner,
        "Pattern": patterns,
        "XObject": {"Fm": form, "Grp": group, "Im": picture, "Msk": mask},
        "ExtGState": {"G1": made(state), "G2": made({"SMask": soft})},
        "Font": {"F1": add_vera(pdf), "F3": drawn, "F0": composite},
        "Properties": {"Oc": layer},
    }


def _picture(chance: random.Random, spaces: tuple[Ref, ...]) -> Stream:
    """Return a picture whose entries may fit one by one and not together."""
    entries: dict[str, object] = {
        **PICTURE,
        "ColorSpace": chance.choice(("DeviceRGB", "DeviceGray", *spaces)),
        "BitsPerComponent": chance.choice((8, 8, 8, 1, 2, 4, 16, 0, -1, 3, 32)),
    }
    odd: dict[str, tuple[object, ...]] = {
        "Decode": ([0], [1, 0], [0, 1, 0], [], [-1e9, 1e9], [1, 0, 1, 0, 1, 0], 7),
        "Mask": ([0, 3], [0], [1, 2, 3], [0, 3, 0, 3, 0, 3], [b"x", 2], 5),
        "Filter": ("CCITTFaxDecode", "DCTDecode", "JPXDecode", "JBIG2Decode", "LZWDecode",
                   "RunLengthDecode", ["ASCIIHexDecode"], "ASCII85Decode", "Foo"),
        "DecodeParms": ({"Predictor": 12, "Columns": 4, "Colors": 3}, {"K": -1, "Columns": 4}),
        "Width": (0, -3, 5, 100000, Raw("9" * 40)),
        "Height": (0, -3, 5, 100000, Raw("9" * 40)),
    }  # fmt: skip
    entries |= {key: chance.choice(ways) for key, ways in odd.items() if chance.random() < 0.2}
    return Stream(bytes(range(64)), entries)


def _spoiled(value: object, chance: random.Random) -> object:
    """Return an object as it is or, as often, with one thing in it another or gone."""
    if chance.random() < 0.5:
        return value
    if isinstance(value, Stream):
        data = value.data
        if chance.random() < 0.2:
            data = data[: chance.randrange(len(data) + 1)]
        return Stream(data, _spoiled(dict(value.entries), chance))  # type: ignore[arg-type]
    if isinstance(value, dict):
        if not value:
            return value
        key = chance.choice(list(value))
        changed = dict(value)
        if chance.random() < 0.3:
            del changed[key]
        elif isinstance(value[key], dict | list) and chance.random() < 0.6:
            changed[key] = _spoiled(value[key], chance)
        else:
            changed[key] = chance.choice(WILD)
        return changed
    if isinstance(value, list):
        if not value:
            return value
        at = chance.randrange(len(value))
        changed_list = list(value)
        match chance.randrange(3):
            case 0:
                del changed_list[at]
            case 1:
                changed_list[at] = chance.choice(WILD)
            case _:
                changed_list[at] = _spoiled(value[at], chance)
        return changed_list
    return chance.choice(WILD)


def slip_in(number: int, folder: Path) -> str:
    """Return what a page of soup found to be a slip of ours, empty where nothing is."""
    path = folder / "soup.pdf"
    path.write_bytes(soup(number))
    try:
        page = open_art(path, SMALL).pages[0]
        read, content = followed(page, Affine.identity())
        read.plates(Affine.identity(), [PAGE], 20.0)
        if content is None:
            page.content(Affine.identity())
        for item in () if content is None else content.images:
            if item.key:
                page.picture(item.key)
    except ArtworkError:
        return ""
    except Exception:
        return traceback.format_exc()
    return ""


def main(count: int, first: int) -> Iterator[str]:
    seen: dict[str, int] = {}
    with tempfile.TemporaryDirectory() as folder:
        for number in range(first, first + count):
            slip = slip_in(number, Path(folder))
            where = "\n".join(slip.strip().splitlines()[-4:])
            if slip and where not in seen:
                yield f"{number}:\n" + "\n".join(slip.strip().splitlines()[-10:])
            if slip:
                seen[where] = seen.get(where, 0) + 1
    yield f"{count} pages of soup: {sum(seen.values())} slips at {len(seen)} places"


if __name__ == "__main__":
    parser = argparse.ArgumentParser()
    parser.add_argument("count", type=int)
    parser.add_argument("--from", type=int, default=0, dest="first")
    given = parser.parse_args()
    for line in main(given.count, given.first):
        print(line, flush=True)
