"""The letter of a round: what is cured, what is still open, what is missing."""

from __future__ import annotations

from dataclasses import dataclass, replace

from prepcheck.book.book import Book
from prepcheck.book.findings import stand_of
from prepcheck.book.records import Decide, Decision, FindingLine, Story
from prepcheck.book.stored import from_json
from prepcheck.errors import BookError
from prepcheck.findings import Finding, Result, shared_out
from prepcheck.report.letter import letter_text
from prepcheck.report.mail import mail_bytes


@dataclass(frozen=True, slots=True)
class Written:
    """A letter as text, its subject, and the proof that goes with it (bytes of a PDF)."""

    subject: str
    text: str
    proof: bytes | None
    proof_name: str
    version: str


def write_letter(book: Book, number: str) -> Written:
    """Return the letter of an order's round. Raises BookError where nothing was examined."""
    story = book.story(number)
    if not story.examinations:
        raise BookError(
            f"order {number}: nothing has been examined yet; "
            f"`prepcheck receive FILES --order {number}` takes files in"
        )
    if not story.examined:
        raise BookError(
            f"order {number}: round {story.line.round} is not examined yet; "
            "`prepcheck book resume` goes on with it"
        )
    last = story.examinations[-1]
    result = from_json(Result, book.store.read(last.result).decode())
    text = letter_text(open_only(result, story), thanks=_thanks(story), wanted=story.missing)
    line = story.line
    subject = f"{line.title} ({line.catalogue}), order {number}: artwork, round {line.round}"
    proof = None if last.proof is None else book.store.read(last.proof)
    name = f"{number}-round-{line.round}-proof.pdf"
    return Written(subject, text, proof, name, result.version)


def _thanks(story: Story) -> tuple[str, ...]:
    """Return what this round has cured, in the words it was found in, part by part."""
    cured = [
        f for f in story.findings if f.cured_round == story.line.round and f.severity != "note"
    ]
    return tuple(f"{f.part or 'The order'}: {f.message}" for f in cured)


def open_only(result: Result, story: Story) -> Result:
    """Return a result with those findings alone that are still open, worded as decided."""
    left: dict[str | None, list[Finding]] = {}
    for line in story.open:
        left.setdefault(line.part, []).append(as_decided(line))
    of_order = tuple(left.get(None, ()))
    parts = (replace(part, findings=tuple(left.get(part.name, ()))) for part in result.parts)
    return replace(
        result, findings=of_order, parts=tuple(shared_out(of_order, part) for part in parts)
    )


def as_decided(line: FindingLine) -> Finding:
    """Return a finding as the client is told of it: with what was decided, or asked."""
    finding = from_json(Finding, line.data)
    if line.decision is None:
        return finding
    if line.decision.kind is Decide.ASK:
        return replace(finding, fix=line.decision.why)
    return replace(finding, fix=f"{finding.fix} We cannot let it pass: {line.decision.why}")


def with_decisions(result: Result, story: Story) -> Result:
    """Return a result in which what was accepted says so, beside what was found.

    Verdicts stay: a stop that somebody accepted is still to be seen on every later proof.
    """
    accepted: dict[tuple[str | None, str], Decision] = {}
    for line in story.findings:
        if line.decision is not None and line.decision.kind is Decide.ACCEPT and line.data:
            accepted[line.part, stand_of(from_json(Finding, line.data))] = line.decision

    def told(part: str | None, findings: tuple[Finding, ...]) -> tuple[Finding, ...]:
        return tuple(_accepted(f, accepted.get((part, stand_of(f)))) for f in findings)

    return replace(
        result,
        findings=told(None, result.findings),
        parts=tuple(replace(p, findings=told(p.name, p.findings)) for p in result.parts),
    )


def _accepted(finding: Finding, decision: Decision | None) -> Finding:
    if decision is None:
        return finding
    day = f"{decision.at.day} {decision.at:%B %Y}"
    return replace(
        finding,
        fix=f"Accepted by {decision.by} ({decision.role.value}) on {day}: {decision.why}",
    )


def as_mail(written: Written, *, sender: str | None = None, to: str | None = None) -> bytes:
    """Return a letter as a message with the proof attached, to send from any program."""
    return mail_bytes(
        written.subject, written.text, version=written.version, proof=written.proof,
        proof_name=written.proof_name, sender=sender, to=to,
    )  # fmt: skip
