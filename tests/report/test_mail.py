"""The letter as a message: read back by the standard library's parser, and always the same."""

from __future__ import annotations

import email
import email.policy
from dataclasses import replace
from datetime import UTC, datetime
from email.message import EmailMessage
from pathlib import Path

from prepcheck.findings import Result
from prepcheck.output import is_ours
from prepcheck.report.mail import mail_bytes, mail_subject
from tests.report.results import SHORT, order, part

TEXT = "Dear Größe,\n\n" + "A line about the label. " * 20 + "\n日本語\n"
PROOF = b"%PDF-1.4\n\x00\xff made up"


def message(proof: bytes | None = PROOF) -> bytes:
    return mail_bytes("Harbour\nSongs – Größe", TEXT, version="0.1.0", proof=proof)


def parsed(data: bytes) -> EmailMessage:
    return email.message_from_bytes(data, policy=email.policy.default)  # type: ignore[return-value]


def test_text_and_proof_come_back_as_they_were() -> None:
    mail = parsed(message())
    body = mail.get_body(("plain",))
    assert body is not None
    assert body.get_content().replace("\r\n", "\n") == TEXT
    (proof,) = mail.iter_attachments()
    assert proof.get_content_type() == "application/pdf"
    assert proof.get_filename() == "proof.pdf"
    assert proof.get_content() == PROOF
    assert mail["Subject"] == "Harbour Songs – Größe"


def test_the_same_letter_gives_the_same_bytes_and_has_no_date_of_its_own() -> None:
    assert message() == message()
    assert parsed(message())["Date"] is None
    at = datetime(2031, 3, 14, 9, 26, tzinfo=UTC)
    dated = parsed(mail_bytes("A", "b\n", version="1", date=at))
    assert dated["Date"].datetime == at


def test_lines_end_and_are_as_long_as_mail_allows() -> None:
    # RFC 5322, 2.1 and 2.1.1: CRLF, at most 998 characters; 7 bits, for any way it may take.
    data = message()
    assert b"\n" not in data.replace(b"\r\n", b"")
    assert max(map(len, data.split(b"\r\n"))) <= 998
    assert data.isascii()


def test_it_is_known_as_ours_and_a_message_that_encloses_one_is_not(tmp_path: Path) -> None:
    own, other = tmp_path / "own.eml", tmp_path / "answer.eml"
    own.write_bytes(message())
    assert is_ours(own)
    other.write_bytes(b"Subject: Re: artwork\r\nFrom: x@example.com\r\n\r\n" + message())
    assert not is_ours(other)


def test_the_subject_names_order_or_files() -> None:
    assert mail_subject(order(part("A", SHORT))) == (
        "Harbour Songs (FWT 012), order P-0417: artwork"
    )
    loose = Result("0.1.0", None, (part("A"), replace(part("B"), file="b.pdf")))
    assert mail_subject(loose) == "Artwork: a.pdf and 1 more"
