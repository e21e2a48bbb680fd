"""Forms that come to draw themselves, by whatever way."""

from __future__ import annotations

from collections.abc import Iterator

from pypdf.generic import DictionaryObject, StreamObject

from prepcheck.art.pdf.objects import dictionary, object_number, resolved, stream

MOST_VISITED = 20_000
"""Forms that are looked into; what has more of them counts as drawing itself."""


def draws_itself(form: StreamObject) -> bool:
    """Say whether a form draws itself, or anything in it does, through the forms, patterns and
    soft masks that its resources name."""
    done: set[int] = set()
    above = {_identity(form)}
    waiting = [(form, _drawn_by(form))]
    while waiting:
        inner = next(waiting[-1][1], None)
        if inner is None:
            left, _ = waiting.pop()
            above.discard(_identity(left))
            done.add(_identity(left))
            continue
        if _identity(inner) in above:
            return True
        if _identity(inner) not in done:
            if len(done) + len(above) > MOST_VISITED:
                return True
            above.add(_identity(inner))
            waiting.append((inner, _drawn_by(inner)))
    return False


def _drawn_by(form: StreamObject) -> Iterator[StreamObject]:
    own = dictionary(form, "Resources")
    for kind in ("XObject", "Pattern"):
        for value in (dictionary(own, kind) or {}).values():
            found = resolved(value)
            if isinstance(found, StreamObject):
                yield found
    for value in (dictionary(own, "ExtGState") or {}).values():
        state = resolved(value)
        if isinstance(state, DictionaryObject):
            group = stream(dictionary(state, "SMask"), "G")
            if group is not None:
                yield group


def _identity(form: StreamObject) -> int:
    return object_number(form) or -id(form)
