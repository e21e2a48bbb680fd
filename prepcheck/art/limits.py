"""What one artwork file may ask for before it is refused."""

from __future__ import annotations

from dataclasses import asdict, field
from enum import Enum

from prepcheck.errors import BudgetError
from prepcheck.frozen import dataclass

ADVICE = "simplify the file, or send this piece flattened, at 300 to 600 ppi"
"""What to do about a file beyond a limit."""


class Demand(Enum):
    """What a file asks for: the field of `Limits` that holds it, and what it is in words."""

    UNPACKED = "unpacked_bytes", "its streams unpack to {met}", "bytes"
    STREAM = "stream_bytes", "a stream unpacks to {met}", "first bytes"
    PICTURE = "picture_bytes", "a picture unpacks to {met}", "first bytes"
    CONTENT = "stream_bytes", "the content of a page unpacks to {met}", "bytes"
    CONTENT_STREAMS = "content_streams", "the content of a page is in {met} streams", ""
    OPERATORS = "operators", "it has {met} operators and glyphs to follow", ""
    RECORDED = "operators", "it has {met} operators to follow for its plates", ""
    FORMS = "forms", "it draws {met} forms, cells and glyphs drawn like forms", ""
    DEPTH = "depth", "it draws {met} forms one inside the other", ""
    PROGRAM = "function_operators", "a function has {met} operators", ""
    FUNCTION_STEPS = "function_steps", "its functions take {met} steps to work out", ""
    SHADINGS = "shadings", "it paints with {met} different shadings", ""
    VERTICES = "mesh_vertices", "its colour meshes have {met} corners", ""
    CODES = "map_codes", "its character maps list {met} codes", ""
    CELLS = "tiling_cells", "a pattern is repeated {met} times", ""
    GROUPED = "group_pixels", "its groups, blends and soft masks come to {met} pixels to paint", ""
    SHADED = "shaded_pixels", "its shadings come to {met} pixels to paint", ""
    HELD = "held_pixels", "its transparency groups hold {met} pixels at once", ""
    SPOTS = "spots", "it asks for {met} plates beside cyan, magenta, yellow and black", ""

    def __init__(self, limit: str, words: str, unit: str) -> None:
        """`first bytes` are those up to the limit: what is behind them is not unpacked."""
        self.limit, self.words, self.unit = limit, words, unit


@dataclass(frozen=True)
class Limits:
    """Safety limits for one file. A file beyond one of them is refused with UnreadableError.

    Time and memory of the whole process are limited where the process is started, not here; these
    are set so that a file which goes beyond that is ended first, and told why. Where a reason
    names times, they were measured on one core of a machine of 2026.
    """

    file_bytes: int = 2_000_000_000
    """Size of the file. A gatefold at 600 ppi in 16-bit CMYK, uncompressed, is 0.9 GB."""
    picture_pixels: int = 200_000_000
    """Decoded pixels of one picture. A gatefold (639 × 321 mm) at 600 ppi has 114 million."""
    picture_bytes: int = 1_000_000_000
    """Decoded bytes of one picture, all channels."""
    stream_bytes: int = 200_000_000
    """Decoded bytes of one stream that is no picture; the largest drawings seen have 0.1 GB."""
    unpacked_bytes: int = 1_000_000_000
    """Decoded bytes of all such streams together, one read twice counted twice."""
    content_streams: int = 20_000
    """Streams that one page's content is cut into. Programs cut it into a few; some one a layer."""
    operators: int = 8_000_000
    """Operators and glyphs followed in one file. A million stroked lines with colours of their own
    have 5 million; the heaviest sleeves seen under a million."""
    forms: int = 50_000
    """Forms, tiling cells and Type 3 glyphs entered, each time counted. Maps that draw each symbol
    as a form have some ten thousand; each takes some tenths of a millisecond and 8 kB."""
    profile_bytes: int = 64_000_000
    """A colour profile unpacked; those of printing conditions have up to 3 MB."""
    filters: int = 8
    """Filters in a row on one stream; honest files use two."""
    depth: int = 40
    """Forms in forms, and levels of any tree. Drawing programs nest about ten deep."""
    function_operators: int = 50_000
    """Operators of one calculator function. Those of programs that write tint transforms for a
    dozen spots have some 3,000."""
    function_steps: int = 100_000_000
    """Operators that all evaluations of calculator functions come to; ten million take a few
    seconds."""
    shadings: int = 10_000
    """Different shadings painted with, counted for each copy that three plates take. Each takes
    some milliseconds."""
    mesh_vertices: int = 2_000_000
    """Corners of all meshes, counted for each copy that three plates take. Programs write some ten
    thousand for a gradient mesh; a hundred thousand take a second."""
    map_codes: int = 1_000_000
    """Codes listed one by one, and ranges of codes, in the character maps of all fonts together;
    the largest collections have under 35,000 glyphs."""
    tiling_cells: int = 4_000_000
    """Times that one tiling cell stands side by side in the page: a cell of a third of a mm over a
    whole gatefold jacket stands there 2 million times."""
    spots: int = 32
    """Plates beyond the process inks. A jacket has four at most; PDF readers need to know of 32
    colorants in a space (ISO 32000-1, Annex C)."""
    group_pixels: int = 4_000_000_000
    """Pixels that transparency groups come to at the fineness of the view, and objects that are
    blended or masked each by itself, counted for each copy that three plates take: so many take
    some 30 s. A jacket's view has 8 million, in two copies,
    and programs write a few groups of that size."""
    shaded_pixels: int = 1_000_000_000
    """Pixels that shadings (`sh`) are painted over, counted in the same way: of radial ones, which
    take longest, so many take some 40 s."""
    held_pixels: int = 150_000_000
    """Pixels of groups one inside the other, of 4 bytes each; drawing programs nest about ten
    deep."""
    pages: int = 500
    """Pages that are read. A piece has one or two, a booklet about thirty."""
    objects: int = 2_000_000
    """Entries of the cross-reference table."""
    array_items: int = 2_000_000
    """Elements of one array or dictionary in a PDF."""
    annotations: int = 5_000
    """Annotations that are read from one page."""
    fonts: int = 5_000
    """Resource dictionaries that are searched for fonts on one page."""

    def spend(self, use: Demand, amount: int) -> None:
        """Ask for so much; raises BudgetError beyond the limit.

        Each time stands for itself here: a `Budget` adds up.
        """
        self.hold(use, amount)

    def hold(self, use: Demand, number: int) -> None:
        """Raise BudgetError where a number is beyond the limit for it."""
        limit = getattr(self, use.limit)
        if number > limit:
            most = _amount(limit, use.unit)
            if use.unit == "first bytes":
                said = f"{use.words.format(met=f'more than {most}')}, which is the limit"
            else:
                met = use.words.format(met=_amount(number, use.unit))
                said = f"{met}, and {most} is the limit"
            raise self.met(f"{said}; {ADVICE}")

    def met(self, sentence: str) -> BudgetError:
        """Return the error that says which limit was met."""
        return BudgetError(sentence)

    def opened(self) -> Budget:
        """Return a budget with these limits for one file, of which nothing is used yet."""
        return Budget(**asdict(self))


@dataclass(frozen=True)
class Budget(Limits):
    """The limits of one file that is being read, and what it has used of them so far.

    It goes wherever limits go, so that all that reads one file draws on one account.
    """

    used: dict[Demand, int] = field(default_factory=dict, compare=False, repr=False)
    ended: list[BudgetError] = field(default_factory=list, compare=False, repr=False)
    """The limit that was met first, if one was."""

    def spend(self, use: Demand, amount: int) -> None:
        total = self.used[use] = self.used.get(use, 0) + amount
        self.hold(use, total)

    def met(self, sentence: str) -> BudgetError:
        self.ended.append(BudgetError(sentence))
        return self.ended[-1]

    def opened(self) -> Budget:
        return self

    def check(self) -> None:
        """Raise what ended the reading, wherever it was taken for a fault of one object."""
        if self.ended:
            raise self.ended[0]


def _amount(number: int, unit: str) -> str:
    return f"{number / 1e6:,.4g} MB" if unit.endswith("bytes") else f"{number:,}"


DEFAULT = Limits()
