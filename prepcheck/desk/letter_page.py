"""The letter of a round: read, edited, copied, taken away as a mail."""

from __future__ import annotations

import re

from starlette.datastructures import FormData
from starlette.requests import Request
from starlette.responses import Response

from prepcheck.book.access import Visit
from prepcheck.book.letters import Written, write_letter
from prepcheck.desk.order_view import latest, since
from prepcheck.desk.web import Desk, attached, number_in, story_of, text_of, told_by, whole
from prepcheck.errors import BookError
from prepcheck.report.mail import mail_bytes

_ADDRESS = re.compile(r"[^\s@<>,;:\"()]{1,64}@[^\s@<>,;:\"()]{1,250}")


def letter(desk: Desk, request: Request, visit: Visit) -> Response:
    """Show the letter of the order's round, to be edited."""
    number = number_in(request)
    story = story_of(desk, number)
    try:
        written = write_letter(desk.book, number)
    except BookError as fault:
        return desk.show("letter.html", visit, 409, story=story, line=story.line, written=None,
                         text="", to="", wrong=told_by(desk, fault), seen=0)  # fmt: skip
    return _page(desk, visit, number, written, written.text, "", [], 200)


def _page(
    desk: Desk,
    visit: Visit,
    number: str,
    written: Written,
    text: str,
    to: str,
    wrong: list[str],
    status: int,
) -> Response:
    story = story_of(desk, number)
    return desk.show(
        "letter.html", visit, status,
        story=story, line=story.line, written=written, text=text, to=to, wrong=wrong,
        seen=latest(story),
    )  # fmt: skip


def write(desk: Desk, request: Request, visit: Visit, form: FormData) -> Response:
    """Record the letter as it was edited, and hand it out as a mail where that is asked."""
    number = number_in(request)
    story = story_of(desk, number)
    text = text_of(form, "text", 200_000).replace("\r\n", "\n").rstrip() + "\n"
    to = text_of(form, "to", 300)
    try:
        written = write_letter(desk.book, number)
    except BookError as fault:
        return desk.show("letter.html", visit, 409, story=story, line=story.line, written=None,
                         text=text, to=to, wrong=told_by(desk, fault), seen=0)  # fmt: skip
    later = since(story, whole(text_of(form, "seen", 20)))
    wrong = []
    if later:
        wrong = ["Not recorded: the order has changed since you loaded the letter. Your words are "
                 "kept below; see that they still hold, and send them again.", *later]  # fmt: skip
    if not text.strip():
        wrong.append("The letter is empty.")
    if to and not _ADDRESS.fullmatch(to):
        wrong.append(f"{to[:80]} is no mail address.")
    if wrong:
        status = 409 if later else 422
        return _page(desk, visit, number, written, text, to, wrong, status)
    desk.book.letter(number, text.encode("utf-8", "replace"), visit.person.name)
    if text_of(form, "do", 20) != "mail":
        return desk.go_to_order(number, said="letter")
    mail = mail_bytes(
        written.subject, text, version=written.version, proof=written.proof,
        proof_name=written.proof_name, to=to or None,
    )  # fmt: skip
    name = f"{number}-round-{story.line.round}.eml"
    return attached(mail, name, "message/rfc822")
