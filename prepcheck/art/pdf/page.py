"""One page of a PDF: its content in mm and its pictures' samples."""

from __future__ import annotations

from concurrent.futures import Executor
from dataclasses import field
from pathlib import Path

from pypdf.generic import DictionaryObject, IndirectObject, StreamObject

from prepcheck.art.decoded_ahead import DecodedAhead
from prepcheck.art.limits import Limits
from prepcheck.art.model import Content, Page, Samples
from prepcheck.art.pdf.content.record import Recording
from prepcheck.art.pdf.content.recorder import Recorder
from prepcheck.art.pdf.content.walk import walk_and_record, walk_page
from prepcheck.art.pdf.guard import reading
from prepcheck.art.pdf.images import begin_largest, picture_samples
from prepcheck.art.pdf.layers import LayerStates
from prepcheck.art.pdf.objects import resolved
from prepcheck.art.pdf.reader import Reader
from prepcheck.art.pdf.streams import page_content
from prepcheck.frozen import dataclass
from prepcheck.geometry import Affine


@dataclass(frozen=True)
class PdfHandle:
    """The open file behind a page: what the walk and the plates read from.

    Objects are read lazily; read them inside `guard.reading(path, limits)`.
    """

    path: Path
    reader: Reader
    layers: LayerStates
    limits: Limits
    ahead: DecodedAhead = field(default_factory=DecodedAhead)

    def object(self, number: int) -> object | None:
        """Return the object of the given number, of whatever generation; None when absent."""
        for generation, places in sorted(self.reader.xref.items(), reverse=True):
            if number in places:
                return resolved(IndirectObject(number, generation, self.reader))
        return resolved(IndirectObject(number, 0, self.reader))


@dataclass(frozen=True)
class PdfPage(Page):
    """A page of a PDF. `source` is its dictionary as it stands in the file; `resources` its own
    or inherited ones. `to_page` maps default user space (pt) to the page's frame (mm).
    """

    document: PdfHandle
    source: DictionaryObject
    resources: DictionaryObject
    to_page: Affine

    def content(self, to_frame: Affine) -> Content:
        """Walk the page; places in mm in the frame that `to_frame` leads to.

        Raises UnreadableError where the page is too damaged to be walked.
        """
        handle = self.document
        with reading(handle.path, handle.limits):
            return walk_page(
                self.source,
                self.resources,
                self.to_page.then(to_frame),
                handle.layers,
                handle.limits,
            )

    def followed(self, to_frame: Affine, recorder: Recorder) -> tuple[Content, Recording]:
        """Walk the page as `content`, while a recorder listens; see `walk_and_record`.

        Read inside `guard.reading`.
        """
        handle = self.document
        return walk_and_record(
            self.source,
            self.resources,
            self.to_page.then(to_frame),
            handle.layers,
            handle.limits,
            recorder,
        )

    def recorded(self, recorder: Recorder) -> Recording:
        """Follow the page for its plates alone. Read inside `guard.reading`."""
        data = page_content(self.source, self.document.limits)
        return recorder.page(self.source, self.resources, data)

    def picture(self, key: int) -> Samples | None:
        """Return the samples of the picture with object number `key`; None when not decodable."""
        handle = self.document
        with reading(handle.path, handle.limits):
            image = handle.object(key)
            if not isinstance(image, StreamObject):
                return None
            found = picture_samples(image, self.resources, handle.limits, ahead=handle.ahead)
            handle.reader.let_go()
            return found

    def decode_ahead(self, pool: Executor) -> None:
        handle = self.document
        with reading(handle.path, handle.limits):
            begin_largest(self.resources, handle.ahead, pool, handle.limits)

    def let_go(self) -> None:
        self.document.ahead.let_go()
