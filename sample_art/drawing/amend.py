"""Changes to finished PDFs that reportlab has no words for."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from contextlib import contextmanager
from pathlib import Path

import numpy as np
from pypdf import PdfWriter
from pypdf.generic import (
    ArrayObject,
    BooleanObject,
    DictionaryObject,
    FloatObject,
    NameObject,
    NumberObject,
    StreamObject,
    TextStringObject,
)  # fmt: skip

from drawing.page import Art


@contextmanager
def amended(path: Path) -> Iterator[PdfWriter]:
    """Open a finished PDF for changes and write it back."""
    writer = PdfWriter(clone_from=path)
    yield writer
    with path.open("wb") as file:
        writer.write(file)


def dictionary(**entries: object) -> DictionaryObject:
    """Return a dictionary object; keys as given, str values become names."""
    return DictionaryObject(
        {NameObject(f"/{key}"): _object(value) for key, value in entries.items()}
    )


def _object(value: object) -> object:
    if isinstance(value, str):
        return TextStringObject(value[1:]) if value.startswith("=") else NameObject(f"/{value}")
    if isinstance(value, bool) or hasattr(value, "write_to_stream"):
        return value
    if isinstance(value, int):
        return NumberObject(value)
    if isinstance(value, float):
        return FloatObject(value)
    if isinstance(value, (list, tuple)):
        return ArrayObject([_object(item) for item in value])
    return value


def on_layer(art: Art, tag: str, draw: Callable[[], None]) -> None:
    """Mark what `draw` paints as belonging to the layer `tag`."""
    art.canvas._code.append(f"/OC /{tag} BDC")
    draw()
    art.canvas._code.append("EMC")


def add_layer(
    path: Path, tag: str, name: str, *, visible: bool = True, step: tuple[str, str] | None = None
) -> None:
    """Make the content marked `/OC /tag` a layer; `step` makes it an ISO 19593-1 step."""
    with amended(path) as writer:
        layer = dictionary(Type="OCG", Name=f"={name}")
        if step is not None:
            layer[NameObject("/GTS_Metadata")] = dictionary(
                GTS_ProcStepsGroup=step[0], GTS_ProcStepsType=step[1]
            )
        reference = writer._add_object(layer)
        state = {"ON" if visible else "OFF": [reference]}
        writer.root_object[NameObject("/OCProperties")] = dictionary(
            OCGs=[reference], D=dictionary(Order=[reference], **state)
        )
        resources = writer.pages[0]["/Resources"].get_object()
        resources[NameObject("/Properties")] = dictionary(**{tag: reference})


def declare_spot(path: Path, name: str) -> None:
    """Name a spot in the page's resources that nothing is painted with."""
    with amended(path) as writer:
        tint = dictionary(
            FunctionType=2, Domain=[0.0, 1.0], C0=[0.0, 0.0, 0.0, 0.0], C1=[0.0, 0.2, 1.0, 0.0], N=1
        )
        space = ArrayObject(
            [NameObject("/Separation"), NameObject(f"/{name}"),
             NameObject("/DeviceCMYK"), tint]
        )  # fmt: skip
        resources = writer.pages[0]["/Resources"].get_object()
        spaces = resources.setdefault(NameObject("/ColorSpace"), DictionaryObject()).get_object()
        spaces[NameObject("/CsUnused")] = space


def knock_out(path: Path) -> None:
    """Make the page's only form an isolated knockout group."""
    with amended(path) as writer:
        forms = writer.pages[0]["/Resources"]["/XObject"].get_object()
        (name,) = forms
        forms[name].get_object()[NameObject("/Group")] = dictionary(
            S="Transparency", I=BooleanObject(True), K=BooleanObject(True)
        )


def make_one_bit(path: Path) -> None:
    """Store the page's only picture, a greyscale one, with one bit a sample (light is 1)."""
    with amended(path) as writer:
        pictures = writer.pages[0]["/Resources"]["/XObject"].get_object()
        (name,) = pictures
        old = pictures[name].get_object()
        width, height = int(old["/Width"]), int(old["/Height"])
        samples = np.frombuffer(old.get_data(), np.uint8).reshape(height, width)
        new = StreamObject()
        new.set_data(np.packbits(samples > 127, axis=1).tobytes())
        new.update(
            dictionary(
                Type="XObject", Subtype="Image", Width=width, Height=height,
                ColorSpace="DeviceGray", BitsPerComponent=1,
            )
        )  # fmt: skip
        pictures[NameObject(name)] = writer._add_object(new.flate_encode())
