"""The number of pages against the spec and the order."""

from collections.abc import Iterator

from prepcheck.findings import Severity
from prepcheck.said import Clear, Declaration, FoundAt, Said
from prepcheck.sheets.exam import Exam
from prepcheck.words import count, listed

CHECK = "file.pages"
_SOURCE = "the spec's list of pages; common practice, no source"

NEEDS_PLATES = False

DECLARATIONS = (
    Declaration(
        CHECK,
        "Number of pages is right",
        FoundAt.INTAKE,
        (Severity.STOP,),
        "A missing page leaves a side without print; a spare one leaves it to chance which page "
        "becomes the plate.",
        _SOURCE,
        codes=("page-asked", "count"),
        limits=("pages",),
    ),
)


def examine(exam: Exam) -> Iterator[Said]:
    pages = len(exam.artwork.pages)
    sharing = _sharing(exam)
    picked = exam.part.page if exam.part is not None else None
    face = exam.part.face if exam.part is not None else None
    most = 1 if face else len(exam.spec.pages)
    least = 1 if face else sum(1 for page in exam.spec.pages if not page.optional) or 1
    span = "or" if most == least + 1 else "to"
    required = str(most) if least == most else f"{least} {span} {most}"
    if picked is not None:
        if picked > pages:
            yield exam.finding(
                CHECK,
                "page-asked",
                Severity.STOP,
                f"The order asks for page {picked}, but the file has {count(pages, 'page')}.",
                "Please send the file that holds this page, or tell us which page to use.",
                source="the order",
                measured=float(pages),
                required=float(picked),
                unit="pages",
            )
        else:
            yield Clear(CHECK, f"page {picked} of {pages}", float(pages), None, "pages")
    elif len(sharing) > 1 and pages > len(sharing) * most:
        # Pages that each are a part of the order, and one that is none.
        yield exam.finding(
            CHECK,
            "count",
            Severity.STOP,
            f"The file has {count(pages, 'page')}; the order names it for {listed(sharing)}.",
            "Please send only the pages of these pieces, or tell us which pages are meant.",
            source="the order",
            measured=float(pages),
            required=float(len(sharing) * most),
            unit="pages",
        )
    elif least <= pages <= most:
        yield Clear(CHECK, count(pages, "page"), float(pages), required, "pages")
    else:
        names = face or ", ".join(page.name for page in exam.spec.pages)
        few = pages < least
        yield exam.finding(
            CHECK,
            "count",
            Severity.STOP,
            f"The file has {count(pages, 'page')}; {exam.spec.title} needs {required} ({names}).",
            "Please send the missing pages in the same file."
            if few
            else "Please send only the pages of this piece, or tell us which page is meant.",
            source=_SOURCE if "pages" not in exam.spec.sources else exam.spec.source_of("pages"),
            measured=float(pages),
            required=required,
            unit="pages",
        )


def _sharing(exam: Exam) -> list[str]:
    """Return the parts of the order that the file is named for, by their names."""
    if exam.order is None or exam.part is None:
        return []
    return [part.name for part in exam.order.part if part.file and part.file == exam.part.file]
