"""All that the program may say reads well: messages as they stand in the code, explanations, help,
and a whole order of made-up parts on console, letter and proof. What is said of the sample art is
looked at where the sample art is examined (`test_sample_art.py`).
"""

from __future__ import annotations

import ast
import io
import re
from collections.abc import Iterator
from pathlib import Path

import click
import pytest
from pypdf import PdfReader

import prepcheck
from prepcheck.cli import cli
from prepcheck.judging.registry import declarations, order_declarations
from prepcheck.numbering import numbered
from prepcheck.proof.write import proof_bytes
from prepcheck.report.console import console_text
from prepcheck.report.letter import letter_text
from prepcheck.run.explain import check_text
from tests.proof import made_up
from tests.wording import faults_of

ROOT = Path(prepcheck.__file__).parent
QUIET = {"art", "press", "measure", "spec", "outline.py", "units.py", "geometry.py"}
"""Rooms most of whose strings are formats' words, patterns and tables: only sentences count."""
A_SENTENCE = 3
"""Words from which a text of a quiet room is one."""
LAYOUT = "doubled spaces"
"""In help and tables columns are set with spaces."""


def texts_of(path: Path) -> Iterator[str]:
    """Yield the texts in a file of code, what is filled in as one sign; no docstrings."""
    tree = ast.parse(path.read_text(encoding="utf-8"))
    skip: set[int] = set()
    for node in ast.walk(tree):
        body = getattr(node, "body", None)
        for child in body if isinstance(body, list) else ():
            if isinstance(child, ast.Expr) and isinstance(child.value, ast.Constant):
                skip.add(id(child.value))
        if isinstance(node, ast.JoinedStr):
            skip |= {id(part) for part in ast.walk(node) if part is not node}
    for node in ast.walk(tree):
        if id(node) in skip:
            continue
        if isinstance(node, ast.Constant) and isinstance(node.value, str):
            yield node.value
        elif isinstance(node, ast.JoinedStr):
            yield "".join(v.value if isinstance(v, ast.Constant) else "…" for v in node.values)


def is_said(text: str) -> bool:
    """Say whether a text is words, and no pattern, type or program."""
    return " " in text.strip() and not any(
        sign in text for sign in ("(?", " | ", "tuple[", "import ")
    )


def test_texts_in_the_code() -> None:
    said = {
        text
        for path in ROOT.rglob("*.py")
        for text in texts_of(path)
        if is_said(text)
        if path.relative_to(ROOT).parts[0] not in QUIET
        or len(re.findall(r"[^\W\d_]{2,}", text)) >= A_SENTENCE
    }
    assert len(said) > 1000, "the texts are found"
    assert not {fault for text in said for fault in faults_of(text) if fault[0] != LAYOUT}


def test_a_text_that_reads_badly_is_found(tmp_path: Path) -> None:
    """The scan sees texts as they are filled in and put together."""
    path = tmp_path / "said.py"
    path.write_text(
        '"""A docstring -> is not said."""\nsay(f"{n} files  too"\n    " many -> fewer")\n'
    )
    (text,) = texts_of(path)
    assert {what for what, _ in faults_of(text)} == {"doubled spaces", "an arrow of two signs"}


@pytest.mark.parametrize("name", sorted({**declarations(), **order_declarations()}))
def test_what_a_check_declares(name: str) -> None:
    one = {**declarations(), **order_declarations()}[name]
    texts = (one.title, one.rationale, one.source, *check_text(name).splitlines()[1:])
    assert not {fault for text in texts for fault in faults_of(text.strip())}
    assert one.title[0].isupper(), "a title begins with a capital"
    assert one.title[-1] not in ".:;", "and is no sentence with its stop"
    assert one.rationale.endswith("."), "reasons are sentences"
    assert one.rationale[0].isupper()


def commands(command: click.Command, path: tuple[str, ...] = ()) -> Iterator[tuple[str, str]]:
    """Yield each command's name and help."""
    context = click.Context(
        command, info_name=" ".join(("prepcheck", *path)), **cli.context_settings
    )
    yield context.info_name or "", command.get_help(context)
    if isinstance(command, click.Group):
        for name in command.list_commands(context):
            found = command.get_command(context, name)
            assert found is not None
            yield from commands(found, (*path, name))


def test_help() -> None:
    said = dict(commands(cli))
    assert len(said) > 15
    for name, text in said.items():
        lines = [" ".join(line.split()) for line in text.splitlines()]
        assert not {fault for line in lines for fault in faults_of(line)}, name
        prose = [line for line in text.splitlines() if not line.startswith("    ")]
        assert max(map(len, prose)) <= 80, name


def test_options_are_sentences() -> None:
    """An option's help begins with a capital and ends with its stop, before its default."""
    wrong = []
    for name, command in _all(cli):
        for option in command.params:
            words = (getattr(option, "help", None) or "").partition("  [")[0].strip()
            if words and not (words[0].isupper() and words[-1] == "."):
                wrong.append(f"{name} {option.name}: {words}")
    assert wrong == []


def _all(command: click.Command, name: str = "prepcheck") -> Iterator[tuple[str, click.Command]]:
    yield name, command
    if isinstance(command, click.Group):
        context = click.Context(command, **cli.context_settings)
        for own in command.list_commands(context):
            found = command.get_command(context, own)
            assert found is not None
            yield from _all(found, f"{name} {own}")


def test_what_is_shown_of_an_order() -> None:
    """Captions and headings of the proof, the letter, and the console at any width."""
    parts = made_up.order_parts()
    result = numbered(made_up.result_of(parts))
    proof = PdfReader(io.BytesIO(proof_bytes(result, parts, made_on=made_up.MADE_ON)))
    texts = [line for page in proof.pages for line in page.extract_text().splitlines()]
    texts += letter_text(result).splitlines()
    for width in (40, 80, 120):
        texts += console_text(result, width=width).splitlines()
    faults = {fault for text in texts for fault in faults_of(text.strip())}
    assert not {fault for fault in faults if fault[0] != LAYOUT}
