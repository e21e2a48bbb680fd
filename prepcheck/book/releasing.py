"""A release as a folder: the very bytes received, under one pattern of names, and their proof.

What was released stands in the book first; the folder is written from there, as often as asked.
"""

from __future__ import annotations

import hashlib
import json
import os
import re
import shutil
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path, PurePosixPath

from prepcheck import __version__
from prepcheck.book.book import Book
from prepcheck.book.examinations import PartFile
from prepcheck.book.findings import stand_of
from prepcheck.book.records import Decide, PartLine, Release, Story
from prepcheck.book.releases import obstacles
from prepcheck.book.rounds import Ways, drawn, laid_out, numbered_as_known
from prepcheck.book.sheeting import sheet_kept
from prepcheck.book.store import Kept
from prepcheck.book.stored import from_json
from prepcheck.book.when import stamp
from prepcheck.errors import BookError, OutputError
from prepcheck.findings import Finding, Severity
from prepcheck.proof.model import Signed
from prepcheck.run.examine import Examined
from prepcheck.run.output_names import slug
from prepcheck.run.sheet_task import Wish

SCHEMA = "prepcheck-release/1"
_CHOICES = ("approved", "with-changes", "file-follows")


@dataclass(frozen=True)
class Released:
    """What came of releasing: what is in the way (then nothing else), or the folder.

    `again` says that these files were released before, and the folder was written from the book.
    """

    against: tuple[str, ...] = ()
    revision: int = 0
    folder: Path = Path()
    differs: tuple[str, ...] = ()
    again: bool = False


def release(
    book: Book, number: str, by: str, out: Path, ways: Ways, sheet: Wish | None = None
) -> Released:
    """Release an order and write its folder into `out`, with a press sheet of its labels where one
    is wished for.

    Raises BookError where `by` may not release or a file was altered, and OutputError where the
    folder cannot be written; the release then stands in the book, and can be written later.
    """
    book.may_release(by)
    with book.alone(f"order {number}") as mine:
        if not mine:
            raise BookError(f"order {number}: is being worked on by another; try again")
        story = book.story(number)
        _, files = book.part_files(number)
        before = story.releases[-1] if story.releases else None
        same_round = before is not None and before.round == story.line.round
        if before is not None and same_round and _released_files(book, before) == files:
            if sheet is not None and "sheet" not in json.loads(book.store.read(before.manifest)):
                raise BookError(
                    f"order {number}: was released without a press sheet, and a release stands; "
                    "make one with `prepcheck sheet`"
                )
            return _written(book, number, before, out, again=True)
        against = obstacles(story)
        if against:
            return Released(against)
        _refuse_altered(book, story)
        with laid_out(book, story) as batch:
            examined = numbered_as_known(book, story, ways.examiner(batch))
            against = _new_since(examined, story)
            if against:
                return Released(against)
            revision = 1 if before is None else before.revision + 1
            at = book.clock()
            signed = _signed(story, by)
            own_sheet: dict[str, Kept] = {}
            if sheet is not None:
                own_sheet = sheet_kept(book, batch, examined, story, sheet, at.date())
            proof = book.store.keep_bytes(drawn(examined, story, at.date(), signed))
        manifest = _manifest(book, story, revision, by, stamp(at))
        if own_sheet:
            manifest["sheet"] = {name: one.digest for name, one in own_sheet.items()}
        kept = book.store.keep_bytes(_json(manifest))
        book.release(number, files, revision, kept, proof, by, own_sheet.values())
        done = book.story(number).releases[-1]
        return _written(book, number, done, out, again=False)


def _refuse_altered(book: Book, story: Story) -> None:
    lines = [
        f"{book.path(part.digest)}: is no longer what came as {part.file}; put it back from a "
        "backup, then run `prepcheck book verify`"
        for part in story.parts
        if part.digest is not None and not book.store.sound(part.digest)
    ]
    if lines:
        raise BookError(*lines)


def _new_since(examined: Examined, story: Story) -> tuple[str, ...]:
    """Return what looking again finds that nobody has accepted: a newer program may see more."""
    accepted = {
        (line.part, stand_of(from_json(Finding, line.data)))
        for line in story.findings
        if line.decision is not None and line.decision.kind is Decide.ACCEPT
    }
    result = examined.result
    found: list[tuple[str | None, Finding]] = [(None, finding) for finding in result.findings]
    found += [(part.name, finding) for part in result.parts for finding in part.findings]
    lines = [
        f"{part or 'the order'}: {finding.severity.value}, found on looking again: "
        f"{finding.message}"
        for part, finding in found
        if finding.severity is not Severity.NOTE and (part, stand_of(finding)) not in accepted
    ]
    if result.crashed:
        lines.append("a check failed on looking again; the result is incomplete")
    return tuple(lines)


def _signed(story: Story, by: str) -> Signed:
    """Return the client's sign-off of this round; without one, what the plant's own says."""
    own = [one for one in story.signoffs if one.round == story.line.round]
    if own:
        said = own[-1]
        who = f"{said.name} ({said.role})" if said.role else said.name
        remarks = said.remarks
        return Signed(_CHOICES.index(said.choice), who, said.at.date(), "given online", remarks)
    on = story.examinations[-1].at.date()
    return Signed(0, by, on, "released by the plant", "No sign-off by the client in the book.")


def _manifest(book: Book, story: Story, revision: int, by: str, at: str) -> dict[str, object]:
    line = story.line
    names = names_of(line.number, revision, story.parts)
    role = next(person.role.value for person in book.people() if person.name == by)
    parts = [
        {
            "part": part.name,
            "side": part.side,
            "file": names[part.name],
            "page": part.page,
            "sha256": part.digest,
            "received_as": part.file,
            "received_in_round": part.round,
            "verdict": part.verdict,
            "accepted": [
                {
                    "finding": f.number, "check": f.check, "severity": f.severity,
                    "message": f.message, "why": f.decision.why, "by": f.decision.by,
                    "role": f.decision.role.value, "at": stamp(f.decision.at),
                }
                for f in story.findings
                if f.part == part.name and f.there and f.decision is not None
            ],
        }
        for part in story.parts
    ]  # fmt: skip
    manifest: dict[str, object] = {
        "schema": SCHEMA,
        "version": __version__,
        "order": json.loads(story.head),
        "revision": revision,
        "round": line.round,
        "released": {"by": by, "role": role, "at": at},
        "parts": parts,
        "proof": "proof.pdf",
    }
    before = story.releases[-1] if story.releases else None
    if before is not None:
        manifest["differs_from_revision"] = before.revision
        manifest["differs"] = list(_differs(_parts(book, before), story.parts))
    return manifest


def names_of(number: str, revision: int, parts: Sequence[PartLine]) -> dict[str, str]:
    """Return the name of each part's file in the folder: 'NUMBER_part_r1.pdf'.

    A file that holds several parts, a page each, is there once, named after the first of them.
    """
    names: dict[str, str] = {}
    shared: dict[str | None, str] = {}
    used: set[str] = set()
    for part in parts:
        if part.page is not None and part.digest in shared:
            names[part.name] = shared[part.digest]
            continue
        ending = PurePosixPath(part.file or "").suffix.lower()
        ending = ending if re.fullmatch(r"\.[a-z0-9]{1,5}", ending) else ""
        stem = f"{slug(number)}_{slug(part.name).lower()}"
        name, count = f"{stem}_r{revision}{ending}", 1
        while name.casefold() in used:
            count += 1
            name = f"{stem}-{count}_r{revision}{ending}"
        used.add(name.casefold())
        names[part.name] = name
        if part.page is not None:
            shared[part.digest] = name
    return names


def _differs(before: Mapping[str, tuple[str, object]], parts: Sequence[PartLine]) -> list[str]:
    lines = []
    for part in parts:
        old = before.get(part.name)
        if old is None:
            lines.append(f"{part.name}: is new")
        elif old != (part.digest, part.page):
            lines.append(f"{part.name}: another file (round {part.round}, {part.file})")
    lines += [f"{name}: is gone" for name in before if all(p.name != name for p in parts)]
    return lines or ["no file differs"]


def _parts(book: Book, done: Release) -> dict[str, tuple[str, object]]:
    manifest = json.loads(book.store.read(done.manifest))
    return {part["part"]: (part["sha256"], part["page"]) for part in manifest["parts"]}


def _released_files(book: Book, done: Release) -> frozenset[PartFile]:
    return frozenset(
        PartFile(name, digest, page if isinstance(page, int) else None)
        for name, (digest, page) in _parts(book, done).items()
    )


def _json(table: dict[str, object]) -> bytes:
    return (json.dumps(table, ensure_ascii=False, indent=2) + "\n").encode("utf-8", "replace")


def _written(book: Book, number: str, done: Release, out: Path, *, again: bool) -> Released:
    manifest = json.loads(book.store.read(done.manifest))
    folder = out / f"{slug(number)}-r{done.revision}"
    wanted = {part["file"]: part["sha256"] for part in manifest["parts"]}
    wanted |= manifest.get("sheet", {})
    wanted |= {"manifest.json": done.manifest, "proof.pdf": done.proof}
    sums = "".join(f"{digest}  {name}\n" for name, digest in sorted(wanted.items()))
    released = Released((), done.revision, folder, tuple(manifest.get("differs", ())), again)
    if folder.exists():
        if _holds(folder, wanted):
            return released
        raise OutputError(
            f"{folder}: is there already and holds something else; move it away or choose "
            "another place with --out"
        )
    aside = out / f".{folder.name}.part"
    try:
        out.mkdir(parents=True, exist_ok=True)
        if aside.exists():  # of a release that was broken off; nobody else is at this order
            shutil.rmtree(aside)
        aside.mkdir()
        for name, digest in wanted.items():
            _put(aside / name, book.store.read(digest))
        _put(aside / "SHA256SUMS", sums.encode())
        aside.rename(folder)
    except OSError as error:
        shutil.rmtree(aside, ignore_errors=True)
        raise OutputError(
            f"{folder}: cannot be written ({error.strerror or error}); the release stands in the "
            "book, choose another place with --out"
        ) from None
    return released


def _holds(folder: Path, wanted: dict[str, str]) -> bool:
    try:
        return all(
            hashlib.sha256((folder / name).read_bytes()).hexdigest() == digest
            for name, digest in wanted.items()
        )
    except OSError:
        return False


def _put(path: Path, data: bytes) -> None:
    with path.open("xb") as file:
        file.write(data)
        file.flush()
        os.fsync(file.fileno())
