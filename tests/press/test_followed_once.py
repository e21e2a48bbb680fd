"""A page is followed once for what it places and for its plates, and both come out as apart."""

from collections import Counter
from collections.abc import Iterator
from pathlib import Path

import numpy as np
import pytest

from prepcheck.art.pdf.content import interpret
from prepcheck.art.pdf.tokens import Operation
from prepcheck.geometry import Affine, Box
from prepcheck.press.separate.plates import followed, separation
from tests.factories import Pdf, Raw, Stream
from tests.press.pages import page_of

BOX = Box(0, 0, 40, 40)
FORM = b"0 1 0 0 k 0 0 20 10 re f 0 0 m 10 0 10 10 0 10 c S"
HIDDEN = b"1 0 0 0 k 0 0 5 5 re f"
PAGE = (
    "q 1 0 0 1 5 5 cm 0 0 0 1 k /A Do Q q .5 0 0 .5 20 20 cm /A Do Q "
    "/O gs 0.2 0 0 0 k /A Do q 0 0 1 1 re W n 1 0 0 1 50 50 cm /B Do Q 10 30 5 5 re B"
)


def form(content: bytes) -> Stream:
    entries = {"Type": "XObject", "Subtype": "Form", "BBox": Raw("[0 0 20 20]")}
    return Stream(content, entries)


def test_one_walk_serves_places_and_plates(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """The page's own content is cut into operators once. A form is followed once for each time it
    is drawn, as its places differ; one that is clipped away only for its plates."""
    pdf = Pdf()
    drawn = {name: pdf.add(form(data)) for name, data in (("A", FORM), ("B", HIDDEN))}
    pdf.page(
        PAGE,
        (40, 40),
        resources={"XObject": drawn, "ExtGState": {"O": {"op": True, "OPM": 1}}},
    )
    page = page_of(pdf.bytes(), tmp_path)
    cut: Counter[bytes] = Counter()
    own = interpret.steps

    def counted(data: bytes, *how: object) -> Iterator[Operation]:
        cut[bytes(data).strip()] += 1
        return own(data, *how)  # type: ignore[arg-type]

    monkeypatch.setattr(interpret, "steps", counted)
    read, content = followed(page, Affine.identity())
    assert [cut.pop(FORM), cut.pop(HIDDEN), *cut.values()] == [3, 1, 1]

    monkeypatch.setattr(interpret, "steps", own)
    assert content is not None
    apart = page.content(Affine.identity())
    assert [path.box for path in content.paths] == [path.box for path in apart.paths]
    assert len(content.paths) == 7
    made, alone = (one.plates(Affine.identity(), [BOX], 100)[0] for one in (read, separation(page)))
    assert made.inks == alone.inks
    assert np.array_equal(made.data, alone.data)
    assert made.data.any()
