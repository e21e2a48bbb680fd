"""Letters, releases and the folder that goes to plates."""

from __future__ import annotations

import email
import email.policy
import hashlib
import io
import json
import subprocess
from pathlib import Path

import pytest
from pypdf import PdfReader

from prepcheck.book.book import Book
from prepcheck.book.letters import as_mail, write_letter
from prepcheck.book.records import Decide, Role, Waiting
from prepcheck.book.releases import obstacles
from prepcheck.book.releasing import release
from prepcheck.book.rounds import Ways, carry_on, receive
from prepcheck.errors import BookError, OutputError
from prepcheck.labelsheet.paper import paper_of
from prepcheck.run.sheet_task import Wish
from tests.book.orders import Scripted, entered, files, unseen

pytestmark = pytest.mark.usefixtures("no_pictures")

FIRST = {
    "label-a.pdf": "bleed.short stop 40 Ink stops short.\ntype.small query -10 Type is small.",
    "label-b.pdf": "",
    "jacket.pdf": "image.resolution query 3 Few samples.",
}


@pytest.fixture
def begun(book: Book, tmp_path: Path) -> Book:
    entered(book)
    book.add_person("Ada Fenn", Role.INTAKE, "Bo Marsh")
    book.add_person("Bo Marsh", Role.APPROVER, "Bo Marsh")
    _round(book, tmp_path / "one", FIRST)
    return book


def _ways() -> Ways:
    return Ways(look=unseen, examiner=Scripted())


def _round(book: Book, folder: Path, texts: dict[str, str]) -> None:
    receive(book, files(folder, texts), "TR-1", "Ada Fenn")
    carry_on(book, "Ada Fenn", _ways())


def _pdf_text(data: bytes) -> str:
    pages = PdfReader(io.BytesIO(data)).pages
    return " ".join(" ".join(page.extract_text() for page in pages).split())


def test_a_release_is_refused_line_by_line_while_anything_is_open(
    begun: Book, tmp_path: Path
) -> None:
    done = release(begun, "TR-1", "Bo Marsh", tmp_path / "out", _ways())
    assert done.against == (
        "1. Label A: stop: Ink stops short.",
        "2. Label A: query: Type is small.",
        "3. Jacket: query: Few samples.",
    )
    assert not (tmp_path / "out").exists()
    assert begun.story("TR-1").releases == ()
    with pytest.raises(BookError, match="may not release"):
        release(begun, "TR-1", "Ada Fenn", tmp_path / "out", _ways())


def test_the_folder_holds_the_very_bytes_and_sha256sum_accepts_it(
    begun: Book, tmp_path: Path
) -> None:
    begun.decide("TR-1", [1, 2], Decide.ACCEPT, "a white rim is wanted", "Bo Marsh")
    _round(begun, tmp_path / "two", {"jacket.pdf": " "})
    done = release(begun, "TR-1", "Bo Marsh", tmp_path / "out", _ways())
    assert done.against == ()
    assert done.folder == tmp_path / "out" / "TR-1-r1"
    assert sorted(path.name for path in done.folder.iterdir()) == [
        "SHA256SUMS", "TR-1_jacket_r1.pdf", "TR-1_label-a_r1.pdf", "TR-1_label-b_r1.pdf",
        "manifest.json", "proof.pdf",
    ]  # fmt: skip
    assert (done.folder / "TR-1_label-a_r1.pdf").read_text() == FIRST["label-a.pdf"]
    assert (done.folder / "TR-1_jacket_r1.pdf").read_text() == " "
    checked = subprocess.run(
        ["sha256sum", "--strict", "-c", "SHA256SUMS"], cwd=done.folder, capture_output=True,
        text=True, check=False,
    )  # fmt: skip
    assert checked.returncode == 0, checked.stdout + checked.stderr
    assert checked.stdout.count(": OK") == 5
    manifest = json.loads((done.folder / "manifest.json").read_text())
    assert (
        manifest["parts"][0]["sha256"] == hashlib.sha256(FIRST["label-a.pdf"].encode()).hexdigest()
    )
    assert [one["by"] for one in manifest["parts"][0]["accepted"]] == ["Bo Marsh", "Bo Marsh"]
    told = _pdf_text((done.folder / "proof.pdf").read_bytes())
    assert "Accepted by Bo Marsh (approver)" in told
    assert "a white rim is wanted" in told
    assert "released by the plant" in told
    line = begun.story("TR-1").line
    assert (line.waiting_for, line.waiting_why) == (Waiting.PLANT, "released, revision 1")
    assert begun.verify().faults == ()


def test_the_same_files_are_released_once_and_a_later_release_says_what_differs(
    begun: Book, tmp_path: Path
) -> None:
    begun.decide("TR-1", [1, 2, 3], Decide.ACCEPT, "wanted", "Bo Marsh")
    first = release(begun, "TR-1", "Bo Marsh", tmp_path / "out", _ways())
    again = release(begun, "TR-1", "Bo Marsh", tmp_path / "out", _ways())
    assert (again.revision, again.again, again.folder) == (1, True, first.folder)
    other = release(begun, "TR-1", "Bo Marsh", tmp_path / "elsewhere", _ways())
    sums = [(folder / "SHA256SUMS").read_text() for folder in (first.folder, other.folder)]
    assert sums[0] == sums[1]
    _round(begun, tmp_path / "two", {"label-b.pdf": "\n"})
    second = release(begun, "TR-1", "Bo Marsh", tmp_path / "out", _ways())
    assert second.folder.name == "TR-1-r2"
    assert second.differs == ("Label B: another file (round 2, label-b.pdf)",)
    assert [one.revision for one in begun.story("TR-1").releases] == [1, 2]


def test_what_was_released_without_a_sheet_gets_none_afterwards(
    begun: Book, tmp_path: Path
) -> None:
    begun.decide("TR-1", [1, 2, 3], Decide.ACCEPT, "wanted", "Bo Marsh")
    release(begun, "TR-1", "Bo Marsh", tmp_path / "out", _ways())
    with pytest.raises(BookError, match="released without a press sheet"):
        release(begun, "TR-1", "Bo Marsh", tmp_path / "out", _ways(), Wish(paper_of("SRA3")))


def test_a_folder_that_holds_something_else_is_left_as_it_is(begun: Book, tmp_path: Path) -> None:
    begun.decide("TR-1", [1, 2, 3], Decide.ACCEPT, "wanted", "Bo Marsh")
    other = tmp_path / "out" / "TR-1-r1"
    other.mkdir(parents=True)
    (other / "mine.txt").write_text("mine")
    with pytest.raises(OutputError, match="holds something else"):
        release(begun, "TR-1", "Bo Marsh", tmp_path / "out", _ways())
    assert [path.name for path in other.iterdir()] == ["mine.txt"]


def test_what_is_found_only_on_looking_again_keeps_a_release_back(
    begun: Book, tmp_path: Path
) -> None:
    begun.decide("TR-1", [1, 2, 3], Decide.ACCEPT, "wanted", "Bo Marsh")

    def sees_more(batch: object) -> object:
        examined = Scripted()(batch)  # type: ignore[arg-type]
        from dataclasses import replace

        from tests.book.orders import finding

        more = finding("line.thin", "stop", "A line is thin.", 9.0)
        said = replace(examined.result.parts[1], findings=(more,))
        parts = (examined.result.parts[0], said, examined.result.parts[2])
        return replace(examined, result=replace(examined.result, parts=parts))

    done = release(
        begun, "TR-1", "Bo Marsh", tmp_path / "out", Ways(look=unseen, examiner=sees_more)
    )  # type: ignore[arg-type]
    assert done.against == ("Label B: stop, found on looking again: A line is thin.",)


def test_an_altered_file_is_never_released(begun: Book, tmp_path: Path) -> None:
    begun.decide("TR-1", [1, 2, 3], Decide.ACCEPT, "wanted", "Bo Marsh")
    path = begun.path(hashlib.sha256(FIRST["jacket.pdf"].encode()).hexdigest())
    path.chmod(0o644)
    path.write_text(FIRST["jacket.pdf"] + " ")
    with pytest.raises(BookError, match="is no longer what came as jacket"):
        release(begun, "TR-1", "Bo Marsh", tmp_path / "out", _ways())


def test_what_is_missing_or_asked_or_signed_otherwise_keeps_an_order_back(
    book: Book, tmp_path: Path
) -> None:
    entered(book)
    book.add_person("Bo Marsh", Role.APPROVER, "Bo Marsh")
    _round(book, tmp_path / "one", {"label-a.pdf": "", "odd.pdf": ""})
    assert obstacles(book.story("TR-1")) == (
        "Label B: not received",
        "Jacket: not received",
        "odd.pdf: nobody has said which part it is for",
    )
    book.leave(book.story("TR-1").deliveries[0].files[1].id, "a sketch", "Bo Marsh")
    _round(book, tmp_path / "two", {"label-b.pdf": " ", "jacket.pdf": "\n"})
    book.ask("TR-1", "Gloss or matt?", "Bo Marsh")
    assert obstacles(book.story("TR-1")) == ("not answered: Gloss or matt?",)
    book.answer("TR-1", None, "Matt.", "Cy Holm")
    seen = book.story("TR-1").examinations[-1].proof or ""
    book.sign_off(
        "TR-1", name="Cy Holm", role="label", choice="file-follows", remarks="", proof=seen
    )
    assert obstacles(book.story("TR-1")) == (
        "the client's sign-off says: a corrected file follows",
    )
    book.sign_off(
        "TR-1", name="Cy Holm", role="label", choice="approved", remarks="Go on.", proof=seen
    )
    done = release(book, "TR-1", "Bo Marsh", tmp_path / "out", _ways())
    told = _pdf_text((done.folder / "proof.pdf").read_bytes())
    assert "Cy Holm (label)" in told
    assert "Go on." in told
    assert book.verify().faults == ()


def test_the_letter_speaks_of_this_round_only(begun: Book, tmp_path: Path) -> None:
    begun.decide("TR-1", [3], Decide.ACCEPT, "old film", "Bo Marsh")
    begun.decide("TR-1", [2], Decide.ASK, "Is the type meant to be so small?", "Ada Fenn")
    second = {"label-a.pdf": "type.small query -10 Type is small."}
    _round(begun, tmp_path / "two", second)
    text = write_letter(begun, "TR-1").text
    thanks = text.index("Thank you for putting right:")
    assert text.index("Label A: Ink stops short.") > thanks
    assert "Is the type meant to be so small?" in " ".join(text.split())
    assert "Few samples" not in text
    begun.letter("TR-1", text.encode(), "Ada Fenn")
    line = begun.story("TR-1").line
    assert (line.waiting_for, line.waiting_why) == (Waiting.CLIENT, "1 open finding")
    begun.answer("TR-1", 2, "Yes.", "Cy Holm")
    line = begun.story("TR-1").line
    assert line.waiting_for is Waiting.US
    _round(begun, tmp_path / "three", {"label-a.pdf": " "})
    text = write_letter(begun, "TR-1").text
    assert "Label A: Type is small." in text
    assert "Ink stops short." not in text, "thanked for in the round before"


def test_the_letter_asks_for_what_has_not_come(book: Book, tmp_path: Path) -> None:
    entered(book)
    with pytest.raises(BookError, match="nothing has been examined yet"):
        write_letter(book, "TR-1")
    _round(book, tmp_path / "one", {"label-a.pdf": "", "label-b.pdf": "\n"})
    text = write_letter(book, "TR-1").text
    assert "Still to come from you:\n  - Jacket\n" in text
    assert "sign it" not in text


def test_the_message_has_the_proof_attached(begun: Book) -> None:
    written = write_letter(begun, "TR-1")
    mail = email.message_from_bytes(
        as_mail(written, to="someone@example.com"), policy=email.policy.default
    )
    assert mail["To"] == "someone@example.com"
    assert "TR-1" in mail["Subject"]
    body = mail.get_body(("plain",))
    assert body is not None
    assert body.get_content().split() == written.text.split()
    (attached,) = mail.iter_attachments()
    data = attached.get_payload(decode=True)
    assert isinstance(data, bytes)
    assert data == written.proof
    assert len(PdfReader(io.BytesIO(data)).pages) > 0
