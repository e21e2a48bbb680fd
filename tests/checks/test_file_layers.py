import random
from pathlib import Path

import pytest

from prepcheck.art.facts import DocumentFacts, Layer
from prepcheck.art.model import ArtKind, Content, RasterFacts, RasterLayer, Space, SpaceFamily
from prepcheck.art.open import open_art
from prepcheck.geometry import Box
from prepcheck.said import Clear, NotApplicable
from tests.checks.exams import BLACK, box_path, examine, findings, make_exam, text
from tests.truth.raster_layers import as_psd, as_tiff, layer_info

CHECK = "file.layers"
HIDDEN = Layer("Old version", visible=False, prints=False)
UNSEEN = Layer("Varnish idea", visible=False, prints=True)
CUT = Layer("Cut", visible=True, prints=False, step=("Structural", "Cutting"))
PLAIN = Layer("Art", visible=True, prints=True)


PLACE = Box(0, 0, 10, 5)


def on(layer: str) -> Content:
    return Content(paths=(box_path(PLACE, fill=BLACK, layer=layer),))


def exam(content: Content, *layers: Layer):
    return make_exam(content=content, document=DocumentFacts(layers=layers))


def test_content_on_a_layer_that_does_not_print_is_a_query_with_its_place() -> None:
    content = Content(hidden=on("Old version"))
    (finding,) = findings(CHECK, exam(content, HIDDEN, PLAIN))
    assert finding.severity == "query"
    assert [(m.box, m.label) for m in finding.where] == [(PLACE, "Old version")]


def test_content_that_prints_from_a_layer_hidden_on_screen_is_a_query() -> None:
    (finding,) = findings(CHECK, exam(on("Varnish idea"), UNSEEN))
    assert "Varnish idea" in finding.message
    assert finding.page == 1


def test_a_processing_step_is_no_fault() -> None:
    assert findings(CHECK, exam(Content(hidden=on("Cut")), CUT)) == []


def test_an_empty_hidden_layer_and_plain_layers_are_clear() -> None:
    (said,) = examine(CHECK, exam(on("Art"), HIDDEN, PLAIN))
    assert isinstance(said, Clear)


def test_invisible_type_without_a_layer_is_no_layer() -> None:
    content = Content(hidden=Content(texts=(text([Box(0, 0, 2, 2)], mode=3),)))
    assert findings(CHECK, exam(content)) == []


def test_a_raster_file_has_no_layers() -> None:
    assert isinstance(examine(CHECK, make_exam(kind=ArtKind.JPEG))[0], NotApplicable)


def picture(*layers: RasterLayer, guides: int = 0):
    facts = RasterFacts(
        (1252, 1252), 8, Space(SpaceFamily.CMYK, 4), (300.0, 300.0), "none", layers=layers,
        guides=guides,
    )  # fmt: skip
    return make_exam(raster=facts, kind=ArtKind.PSD)


def test_a_picture_that_holds_more_than_it_shows() -> None:
    ground = RasterLayer("Ground", visible=True)
    (query,) = findings(CHECK, picture(ground, RasterLayer("Old title", visible=False)))
    assert (query.severity, query.code) == ("query", "picture")
    assert "1 hidden layer ('Old title')" in query.message
    (query,) = findings(CHECK, picture(ground, RasterLayer("Title", visible=True, text=True)))
    assert "1 layer of live type ('Title')" in query.message
    (note,) = findings(CHECK, picture(ground, RasterLayer("Moon", visible=True)))
    assert note.severity == "note"
    assert findings(CHECK, picture(ground)) == []


@pytest.mark.parametrize("kind", ["psd", "tif"])
@pytest.mark.parametrize("cut", [20, 24, 40, 60])
def test_of_damaged_layers_nothing_is_said_to_be_clear(kind: str, cut: int, tmp_path: Path) -> None:
    """Layer records that end too soon (Adobe Photoshop File Formats Specification)."""
    info = layer_info(random.Random(3), ">", "hidden")[:cut]
    path = tmp_path / f"art.{kind}"
    path.write_bytes(as_psd(info) if kind == "psd" else as_tiff(info, ">"))
    art = open_art(path)
    (told,) = examine(CHECK, make_exam(raster=art.raster))
    assert isinstance(told, NotApplicable)
    assert told.untold
    assert "damaged" in told.why
