"""Judges an order as a whole from what its parts' workers sent back."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from prepcheck.judging.on_orders import OrderExamined, run_loose_checks, run_order_checks
from prepcheck.judging.registry import order_checks
from prepcheck.run.answer import Answer, part_found, without_numpy
from prepcheck.run.gather import Batch
from prepcheck.sheets.order_exam import OrderExam, Piece
from prepcheck.sheets.piece import loose_piece


def order_said(
    batch: Batch, answers: Sequence[Answer], moved: Mapping[str, str] | None = None
) -> OrderExamined:
    """Return what the checks of the order say; for loose art those that need no order.

    `moved` maps parts that were examined with another part's file to the one that they were named
    with.
    """
    if batch.order is None:
        held = tuple(
            loose_piece(answer.proof.result, answer.proof.spec, answer.digest, task.page)
            for task, answer in zip(batch.tasks, answers, strict=True)
            if answer.proof is not None
        )
        return without_numpy(run_loose_checks(held, order_checks()))
    pieces = tuple(
        Piece(part_found(task.part, answer), answer.proof.result, answer.proof.spec, answer.digest)
        for task, answer in zip(batch.tasks, answers, strict=True)
        if task.part is not None and answer.proof is not None and answer.proof.result.received
    )
    exam = OrderExam(batch.order, pieces, moved or {})
    return without_numpy(run_order_checks(exam, order_checks()))
