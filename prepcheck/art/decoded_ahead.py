"""Pictures that are decoded ahead in another thread, while the page they stand on is being read."""

from __future__ import annotations

from concurrent.futures import Executor, Future
from dataclasses import dataclass

from prepcheck.art.jpeg import JpegPicture, read_jpeg
from prepcheck.art.limits import Limits

MOST_BYTES = 60_000_000
"""Samples of a picture decoded ahead: 15 megapixels in four colours."""

USES = 3
"""How often a picture is asked for: it is made into plates, judged, and shown enlarged."""


@dataclass
class _Coming:
    data: bytes
    transform: int | None
    picture: Future[JpegPicture]
    uses: int = USES


class DecodedAhead:
    """JPEGs decoded or being decoded, kept until they have been put to all uses or are let go."""

    def __init__(self) -> None:
        self._coming: tuple[_Coming, ...] = ()

    def begin(
        self, pool: Executor, data: bytes, limits: Limits, transform: int | None = None
    ) -> None:
        """Have a JPEG decoded in a pool; arguments as those of `read_jpeg`.

        One that stands on several pages is decoded once, and kept for the uses of each.
        """
        for one in self._coming:
            if one.transform == transform and one.data == data:
                one.uses += USES
                return
        coming = _Coming(data, transform, pool.submit(_decoded, data, limits, transform))
        self._coming = (*self._coming, coming)

    def picture(self, data: bytes, transform: int | None) -> JpegPicture | None:
        """Return a picture once it is decoded, None for one that was not begun.

        Its samples are not to be written to. Raises UnreadableError as `read_jpeg` does.
        """
        for one in self._coming:
            if one.transform == transform and one.data == data:
                one.uses -= 1
                if not one.uses:
                    self._coming = tuple(other for other in self._coming if other is not one)
                return one.picture.result()
        return None

    def let_go(self) -> None:
        """Forget all pictures; whoever asks for one decodes it again."""
        self._coming = ()


def _decoded(data: bytes, limits: Limits, transform: int | None) -> JpegPicture:
    picture = read_jpeg(data, limits, transform)
    picture.data.flags.writeable = False
    return picture
