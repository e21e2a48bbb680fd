"""What reads badly in any text that a person meets, found without understanding it.

Trade usage and typography, common practice, no source.
"""

from __future__ import annotations

import re

_NOUNS = "place|file|part|page|picture|note|check|label|plate|disc|sheet|fold|layer"
ODD = {
    "a negative zero": re.compile(r"(?<![\w./])[-−]0(?:\.0+)?(?![\d.,\w])"),
    "an x between numbers": re.compile(r"\d x \d"),
    "an arrow of two signs": re.compile(r"->|<-"),
    "doubled spaces": re.compile(r"\S  +\S"),
    "a percent sign without a space": re.compile(r"\d%"),
    "a sentence that begins small": re.compile(r"[a-z)’”][.!?] [a-z]"),
    "two marks at an end": re.compile(r"(?<!\.)[.,;:]{2}(?!\.)|[,;:]\."),
    "a blank before a mark": re.compile(r" [,;:.!?](?:\s|$)"),
    "a plural in brackets": re.compile(r"\w\(s\)"),
    "one of many": re.compile(rf"(?<![\d.,])\b1 (?:{_NOUNS}|querie)s\b"),
    "many of one": re.compile(rf"(?<![\d.,])\b(?:[2-9]|\d\d+) (?:{_NOUNS})\b(?![- ]\w)"),
    "a word twice": re.compile(r"\b(the|a|an|of|to|is|and|or|in|on|it) \1\b"),
    "the wrong article": re.compile(
        r"\ba (?:[aeio][a-z]{2,}|EAN|EPS|ISO|RGB)\b(?! one)"
        r"|\b[Aa]n (?:[bcdfgjklmnpqrstvwyz][a-z]+|PDF|TIFF|UPC)\b"
    ),
    "no word of the trade": re.compile(
        r"\bsickles?\b|\bcut out of the colour\b|\b(?:too few|enough) samples\b"
        r"|\bleft out of (?:one|two|three|several|\d) inks\b"
    ),
    "a name of Python's": re.compile(r"\bNone\b|\bTrue\b|\bFalse\b|<[a-z_.]+ object"),
}  # fmt: skip
_SENTENCE = re.compile(r"[A-Z0-9'‘’“\"(]|[a-z0-9_-]+\.[a-z]+")


def faults_of(text: str) -> set[tuple[str, str]]:
    """Return what reads badly in a text, each with the text."""
    return {(what, text) for what, odd in ODD.items() if odd.search(text)}


def faults_of_sentence(text: str) -> set[tuple[str, str]]:
    """The same of a sentence, which begins with a capital or a name and has an end."""
    faults = faults_of(text)
    if not _SENTENCE.match(text):
        faults.add(("a beginning", text))
    if text[-1:] not in ".?!":
        faults.add(("no end", text))
    return faults
