"""Sides and pieces that the order needs and that nobody sent."""

from collections.abc import Iterator

from prepcheck.findings import Finding, Severity
from prepcheck.said import Clear, Declaration, FoundAt, Missing, NotApplicable, OrderSaid
from prepcheck.sheets.order_exam import OrderExam
from prepcheck.spec.model import Spec
from prepcheck.words import count, listed

CHECK = "order.missing-part"

DECLARATIONS = (
    Declaration(
        CHECK,
        "All parts are there",
        FoundAt.INTAKE,
        (Severity.STOP, Severity.QUERY, Severity.NOTE),
        "All labels of an order are printed on one sheet and all pieces meet at the press: one "
        "that is missing holds up the others, or they go without it and it costs a second run.",
        "common practice, no source",
        codes=("not-received", "which-file", "no-label", "label", "face", "bag", "sleeve"),
    ),
)

_BY_ORDER = "the order, and common practice: a label for each side, a bag for each disc"


def examine_order(exam: OrderExam) -> Iterator[OrderSaid]:
    said = [*_labels(exam), *_faces(exam), *_bags(exam), *_sleeve(exam)]
    yield from said
    if any(isinstance(item, Finding) for item in said):
        return
    if not exam.whole:
        yield NotApplicable(CHECK, "only some parts of the order were looked at")
    else:
        sides = count(len(exam.order.order.sides), "side")
        yield Clear(CHECK, f"labels for {sides} and all pieces are there", sides, sides)


def _labels(exam: OrderExam) -> Iterator[OrderSaid]:
    head = exam.order.order
    given = {part.side for part in exam.order.part if part.side is not None}
    # Labels without a side may be any of those that are due.
    loose = sum(1 for piece in exam.labels if piece.side is None)
    missing = [side for side in head.sides if side not in given]
    discs = count(head.discs, "disc")
    if not given and not loose:
        if exam.whole:
            yield from (Missing(f"Label, side {side}") for side in missing)
            yield exam.finding(
                CHECK,
                "no-label",
                Severity.QUERY,
                f"The order has no label; {discs} {'needs' if head.discs == 1 else 'need'} labels "
                f"for sides {listed(head.sides)}.",
                "Please send the labels, or tell us that the records get blank ones.",
                source=_BY_ORDER,
                measured=0.0,
                required=float(len(head.sides)),
                unit="labels",
            )
        return
    if len(missing) <= loose:
        return
    if loose:
        short = len(missing) - loose
        names = count(short, "label")
        verb = "is" if short == 1 else "are"
        what = f"{names} {verb} missing; {count(loose, 'label')} without a side could be any of "
        what += listed(missing, "or")
        yield from (Missing("Label") for _ in range(short))
    else:
        word = "side" if len(missing) == 1 else "sides"
        verb = "is" if len(missing) == 1 else "are"
        what = f"The label for {word} {listed(missing)} {verb} missing"
        if len(missing) > 1:
            what = f"The labels for {word} {listed(missing)} {verb} missing"
        yield from (Missing(f"Label, side {side}") for side in missing)
    yield exam.finding(
        CHECK,
        "label",
        Severity.STOP,
        f"{what}; {discs} {'has' if head.discs == 1 else 'have'} sides {listed(head.sides)}.",
        "Please send what is missing; labels of one order are printed together.",
        source=_BY_ORDER,
        measured=float(len(head.sides) - len(missing) + loose),
        required=float(len(head.sides)),
        unit="labels",
    )


def _faces(exam: OrderExam) -> Iterator[OrderSaid]:
    """Faces of a piece that come as files of their own: all that the piece must have."""
    given: dict[str, tuple[Spec, set[str]]] = {}
    for piece in exam.pieces:
        if piece.spec is not None and piece.part.face is not None:
            given.setdefault(piece.spec.name, (piece.spec, set()))[1].add(
                piece.part.face.casefold()
            )
    for spec, faces in given.values():
        missing = [
            page.name
            for page in spec.pages
            if not page.optional and page.name.casefold() not in faces
        ]
        if not missing or not exam.whole:
            continue
        yield from (Missing(f"{spec.title}, {face}") for face in missing)
        yield exam.finding(
            CHECK,
            "face",
            Severity.STOP,
            f"{spec.title}: only the {listed(sorted(faces))} was sent; the {listed(missing)} "
            f"{'is' if len(missing) == 1 else 'are'} missing.",
            "Please send what is missing; both sides of a sheet are printed together.",
            source="the order",
            measured=listed(sorted(faces)),
            required=listed([page.name for page in spec.pages if not page.optional]),
            subject=spec.name,
            parts=tuple(
                p.name for p in exam.pieces if p.spec is not None and p.spec.name == spec.name
            ),
        )


def _bags(exam: OrderExam) -> Iterator[OrderSaid]:
    """Printed inner bags: none, or one for each disc."""
    discs = exam.order.order.discs
    bags = [piece for piece in exam.pieces if piece.is_a("inner-bag")]
    if not bags or len(bags) >= discs or not exam.whole:
        return
    short = discs - len(bags)
    yield from (Missing("Inner bag") for _ in range(short))
    yield exam.finding(
        CHECK,
        "bag",
        Severity.QUERY,
        f"{count(len(bags), 'inner bag')} for {count(discs, 'disc')}: "
        f"{count(short, 'bag')} fewer than discs.",
        "Please send the other art, or tell us that all bags are printed alike.",
        source=_BY_ORDER,
        measured=float(len(bags)),
        required=float(discs),
        unit="inner bags",
    )


def _sleeve(exam: OrderExam) -> Iterator[OrderSaid]:
    # A piece of no stated kind may be the sleeve.
    known = [piece for piece in exam.pieces if piece.spec is not None and piece.spec.kind]
    if not exam.whole or len(known) < len(exam.pieces) or not exam.labels:
        return
    if not any(piece.is_a("jacket", "gatefold", "inner-bag") for piece in known):
        yield exam.finding(
            CHECK,
            "sleeve",
            Severity.NOTE,
            "The order has labels but no printed sleeve or bag.",
            "Please tell us if one is still to come; else the records go into plain bags.",
            source=_BY_ORDER,
        )
