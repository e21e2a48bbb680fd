"""What is wrong with a file as such, before anything is measured."""

from __future__ import annotations

from pathlib import Path

from pypdf.generic import ArrayObject, NameObject
from reportlab.lib.pdfencrypt import StandardEncryption

from drawing.amend import add_layer, amended, dictionary, on_layer
from drawing.brand import CLAY, SAND
from drawing.clear import LABEL
from drawing.page import PT, Art
from drawing.singles.label import fault, label, single, words


@single("damaged.pdf", fault("file.unreadable", "stop", "the file ends in the middle", page=None))
def damaged(path: Path) -> None:
    label(path).save()
    path.write_bytes(path.read_bytes()[:400])


@single("empty.pdf", fault("file.unreadable", "stop", "the file has no bytes", page=None))
def empty(path: Path) -> None:
    path.write_bytes(b"")


@single("wrong-kind.pdf", fault("file.unreadable", "stop", "a letter, not art", page=None))
def wrong_kind(path: Path) -> None:
    path.write_text("Dear plant, the label art follows on Monday. Yours, Lanternfold\n")


@single("locked.pdf", fault("file.unreadable", "stop", "opens only with a password", page=None))
def locked(path: Path) -> None:
    label(path, encrypt=StandardEncryption("lantern", "keeper", strength=128)).save()


@single("encrypted.pdf", fault("file.encrypted", "stop", "opens, but is encrypted", page=None))
def encrypted(path: Path) -> None:
    label(path, encrypt=StandardEncryption("", "keeper", canModify=0, strength=128)).save()


@single("hidden-layer.pdf", fault("file.layers", "query", "a layer switched off", page=None))
def hidden_layer(path: Path) -> None:
    art = label(path)
    on_layer(art, "Other", lambda: art.disc(0, -25.0, 10.0, CLAY))
    art.save()
    add_layer(path, "Other", "Other colourway", visible=False)


@single("note-on-art.pdf", fault("file.annotations", "query", "a sticky note", x=20.0, y=-20.0))
def note_on_art(path: Path) -> None:
    art = label(path)
    art.save()
    with amended(path) as writer:
        box = [(53.0 + 16.0) * PT, (53.0 - 24.0) * PT, (53.0 + 24.0) * PT, (53.0 - 16.0) * PT]
        note = dictionary(
            Type="Annot", Subtype="Text", Rect=box, Contents="=Could the red be warmer?", F=4
        )
        writer.pages[0][NameObject("/Annots")] = ArrayObject([writer._add_object(note)])


@single("script.pdf", fault("file.active", "stop", "a script that runs on opening", page=None))
def script(path: Path) -> None:
    label(path).save()
    with amended(path) as writer:
        action = dictionary(Type="Action", S="JavaScript", JS='=app.alert("Salt Roads");')
        writer.root_object[NameObject("/OpenAction")] = writer._add_object(action)


@single(
    "form.pdf",
    fault("file.active", "stop", "a form field to fill in", page=None),
    fault("file.annotations", "query", "the field's own annotation", x=0.0, y=-24.0),
)
def form(path: Path) -> None:
    label(path).save()
    with amended(path) as writer:
        box = [(53.0 - 15.0) * PT, (53.0 - 27.0) * PT, (53.0 + 15.0) * PT, (53.0 - 21.0) * PT]
        field = writer._add_object(
            dictionary(Type="Annot", Subtype="Widget", FT="Tx", T="=quantity", Rect=box, F=4)
        )
        writer.pages[0][NameObject("/Annots")] = ArrayObject([field])
        writer.root_object[NameObject("/AcroForm")] = dictionary(Fields=[field])


@single("attachment.pdf", fault("file.active", "stop", "a file embedded in the art", page=None))
def attachment(path: Path) -> None:
    label(path).save()
    with amended(path) as writer:
        writer.add_attachment("words.txt", b"We took our line from the pier lamp\n")


@single(
    "two-pages.pdf",
    fault("file.pages", "stop", "two pages for one label", page=None, measured=2, required=1),
)
def two_pages(path: Path) -> None:
    art = label(path)
    art.next_page()
    art.flood(SAND)
    words(art)
    art.save()


@single(
    "blank.pdf",
    fault("file.blank", "query", "all of it on a layer switched off"),
    fault("file.layers", "query", "the layer that is switched off", page=None),
)
def blank(path: Path) -> None:
    art = Art(path, LABEL)
    on_layer(art, "Art", lambda: words(art))
    art.save()
    add_layer(path, "Art", "Art", visible=False)


@single(
    "claims-pdfx.pdf",
    fault("file.conformance", "note", "says PDF/X-4, has no output intent", page=None),
)
def claims_pdfx(path: Path) -> None:
    label(path).save()
    with amended(path) as writer:
        writer.add_metadata({"/GTS_PDFXVersion": "PDF/X-4", "/Trapped": "/False"})
