"""The finished look beside a label's art stands in the room there is, whatever the label's size."""

from __future__ import annotations

import pytest

from prepcheck.proof.art_layout import layouts
from prepcheck.proof.drawing import features
from prepcheck.proof.small_look import SmallLook
from prepcheck.spec.load import load_spec
from tests.proof import made_up


@pytest.mark.parametrize("name", ["label-7in", "label-7in-large-hole", "label-10in", "label-12in"])
def test_it_is_no_taller_than_its_room(name: str) -> None:
    spec = load_spec(name)
    part = made_up.order_parts()[0]
    (page, *_) = part.pages
    outline = spec.outline_of(0)
    for layout in layouts(page, outline, spec.bleed.wanted_mm, features(spec, outline)):
        if layout.aside is not None:
            look = SmallLook(part, page, spec, layout.aside.width, layout.aside.height)
            assert look.height <= layout.aside.height
            assert look.tall > 40.0, "and large enough to see"
