"""The PDF library's reader, with what it would do slowly or by copying done otherwise."""

from __future__ import annotations

from pypdf import PdfReader
from pypdf.generic import IndirectObject, PdfObject

from prepcheck.art.pdf.lending import LENT_FROM, FileData, Views


class Reader(PdfReader):
    """Reads large streams as views of the file, which it would copy else."""

    lent: FileData | None = None
    large: frozenset[int] = frozenset()
    """Numbers of the objects that may be large."""

    def get_object(self, indirect_reference: int | IndirectObject) -> PdfObject | None:
        if isinstance(indirect_reference, IndirectObject):
            number = indirect_reference.idnum
            held = self.resolved_objects.get((indirect_reference.generation, number))
            if held is not None:
                return held
        else:
            number = indirect_reference
        if number not in self.large or self.lent is None:
            return super().get_object(indirect_reference)
        quick, self.stream = self.stream, Views(self.lent)  # type: ignore[assignment]
        try:
            return super().get_object(indirect_reference)
        finally:
            self.stream = quick

    def lend(self, data: FileData) -> None:
        """Have large streams of the file, which is `data`, read as views of it."""
        if len(data) >= LENT_FROM:
            self.lent, self.large = data, _large(self, len(data))


def _large(reader: PdfReader, size: int) -> frozenset[int]:
    """Return the numbers of objects behind which much lies until the next one begins."""
    placed = sorted((at, n) for places in reader.xref.values() for n, at in places.items())
    ends = [at for at, _ in placed[1:]] + [size]
    return frozenset(n for (at, n), end in zip(placed, ends, strict=True) if end - at >= LENT_FROM)
