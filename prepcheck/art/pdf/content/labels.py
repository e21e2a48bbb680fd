"""What operations name, and operations in words."""

from __future__ import annotations

from prepcheck.art.pdf.tokens import Name, Operation, operands
from prepcheck.errors import ObjectError, said_by


def label_of(operation: Operation) -> str:
    """Return the name operand of an operation, without its slash."""
    for value in operands(operation.raw):
        if isinstance(value, Name):
            return str(value)[1:]
    raise ObjectError("a name is missing")


def sentence_on(operation: Operation, fault: Exception) -> str:
    words = {b"Do": "a drawn object", b"sh": "a shading", b"BI": "an inline picture"}
    what = words.get(operation.operator, f"an operation {operation.operator.decode('latin-1')}")
    return f"{what} could not be read and was left out of the plates ({said_by(fault, 80)})"
