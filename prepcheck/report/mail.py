"""A letter as a message ready to send from any mail program, with the proof attached.

RFC 5322 for the message, RFC 2045 and 2046 for its parts. The same letter gives the same bytes:
the boundary follows from what is sent, and no date is put in unless it is given, since the
program that sends the message puts in its own.
"""

from __future__ import annotations

import hashlib
from datetime import datetime
from email.message import EmailMessage
from email.policy import SMTP
from email.utils import format_datetime

from prepcheck.findings import Result
from prepcheck.output import MAIL_MARK


def mail_bytes(
    subject: str,
    text: str,
    *,
    version: str,
    proof: bytes | None = None,
    proof_name: str = "proof.pdf",
    sender: str | None = None,
    to: str | None = None,
    date: datetime | None = None,
) -> bytes:
    """Return a message with a plain text and, where there is one, a proof (bytes of a PDF)."""
    mail = EmailMessage(policy=SMTP)
    subject = subject.encode("utf-8", "replace").decode()
    mail["Subject"] = " ".join(subject.split()) or "Artwork"
    for name, value in (("From", sender), ("To", to)):
        if value is not None:
            mail[name] = value
    if date is not None:
        mail["Date"] = format_datetime(date)
    mail["X-Mailer"] = f"{MAIL_MARK} {version}"
    mail["X-Unsent"] = "1"
    mail.set_content(text.encode("utf-8", "replace").decode(), cte="quoted-printable")
    if proof is not None:
        mail.add_attachment(proof, maintype="application", subtype="pdf", filename=proof_name)
        digest = hashlib.sha256(text.encode("utf-8", "replace") + proof).hexdigest()
        mail.set_boundary(f"=_{digest[:48]}")
    return mail.as_bytes()


def mail_subject(result: Result) -> str:
    """Return what a letter about a result is headed: the title, else the files, and the order."""
    order = result.order
    if order is None:
        files = list(dict.fromkeys(part.file for part in result.parts))
        more = f" and {len(files) - 1} more" if len(files) > 1 else ""
        return f"Artwork: {files[0]}{more}" if files else "Artwork"
    title = order.title or order.client or "Artwork"
    catalogue = f" ({order.catalogue})" if order.catalogue else ""
    number = f", order {order.number}" if order.number else ""
    return f"{title}{catalogue}{number}: artwork"
