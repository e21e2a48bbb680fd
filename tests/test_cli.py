"""The command: what it prints, what it writes, and how it ends."""

from __future__ import annotations

import email
import email.policy
import functools
import io
import json
import os
import re
import shutil
import signal
import subprocess
import sys
import time
from pathlib import Path

import pytest
from click.testing import CliRunner, Result
from PIL import Image
from pypdf import PdfReader

import prepcheck
from prepcheck import errors, findings
from prepcheck.cli import EXIT_CODES, cli, terminal
from prepcheck.cli.terminal import exit_code
from prepcheck.errors import ArtworkError, ExitCode, PrepcheckError
from prepcheck.findings import PartResult, Severity
from prepcheck.judging.registry import declarations
from prepcheck.spec.load import load_spec, spec_names
from tests.holding import Holding
from tests.report.results import NOTE, SHORT, TURNED, order, part
from tests.run.art import label_pdf, order_toml, two_labels


def run(*args: object) -> Result:
    return CliRunner().invoke(cli, [str(arg) for arg in args], prog_name="prepcheck")


def plain(text: str) -> str:
    return " ".join(text.split())


# Help, version, arguments


@pytest.mark.parametrize("args", [["--help"], ["check", "-h"], ["specs", "-h"], ["explain", "-h"]])
def test_help_fits_eighty_columns_and_shows_examples(args: list[str]) -> None:
    result = run(*args)
    assert result.exit_code == 0
    assert max(map(len, result.stdout.splitlines())) <= 80
    assert "  prepcheck " in result.stdout


def test_check_help_names_every_option() -> None:
    text = run("check", "--help").stdout
    for option in ("--spec", "--order", "--out", "--proof", "--json", "--quiet", "--jobs"):
        assert f"  {option}" in text


def test_version() -> None:
    assert run("--version").stdout == f"prepcheck {prepcheck.__version__}\n"


@pytest.mark.parametrize(
    ("args", "said"),
    [
        (["check"], "nothing to check"),
        (["check", "none.pdf"], "there is no such file"),
        (["check", "--jobs", "0", "x.pdf"], "--jobs"),
        (["check", "--colour", "x.pdf"], "No such option"),
        (["chek"], "No such command"),
        (["specs", "label-12"], "did you mean label-12in"),
        (["specs", "none.toml"], "there is no such file"),
        (["explain", "bleed.shrot"], "did you mean bleed.short"),
        (["explain", "nothing"], "there is no check 'nothing'"),
    ],
)
def test_wrong_arguments(args: list[str], said: str) -> None:
    result = run(*args)
    assert result.exit_code == ExitCode.USAGE
    assert result.stdout == ""
    assert said in result.stderr
    assert "Traceback" not in result.stderr


# Check


def test_a_clear_order(tmp_path: Path) -> None:
    out = tmp_path / "out"
    result = run("check", two_labels(tmp_path), "--out", out, "--jobs", 2)
    assert result.exit_code == ExitCode.CLEAR, result.output
    assert "Verdict: CLEAR" in result.stdout
    assert result.stderr == ""
    assert sorted(path.name for path in out.iterdir()) == [
        "P-0417-proof.pdf",
        "P-0417-report.json",
    ]
    report = json.loads((out / "P-0417-report.json").read_text(encoding="utf-8"))
    assert report["order"]["number"] == "P-0417"
    assert [p["verdict"] for p in report["parts"]] == ["clear", "clear"]
    assert (out / "P-0417-proof.pdf").read_bytes().startswith(b"%PDF-")


def test_outputs_where_they_are_wanted(tmp_path: Path) -> None:
    art = label_pdf(tmp_path / "a.pdf", bleed=0.0)
    proof, report = tmp_path / "deep" / "p.pdf", tmp_path / "r.json"
    result = run(
        "check", art, "--spec", "label-12in", "--proof", proof, "--json", report, "--quiet"
    )
    assert result.exit_code == ExitCode.STOP
    assert result.output == ""
    assert json.loads(report.read_text(encoding="utf-8"))["verdict"] == "stop"
    assert proof.exists()
    assert not (tmp_path / "prepcheck-out").exists()


def test_default_outputs_lie_beside_nothing_of_the_clients(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    folder, here = tmp_path / "client", tmp_path / "here"
    folder.mkdir()
    here.mkdir()
    monkeypatch.chdir(here)
    run("check", label_pdf(folder / "a.pdf"), "--quiet")
    assert [path.name for path in folder.iterdir()] == ["a.pdf"]
    assert sorted(p.name for p in (here / "prepcheck-out").iterdir()) == [
        "a-proof.pdf",
        "a-report.json",
    ]


def test_json_on_stdout_and_nothing_else(tmp_path: Path) -> None:
    art = label_pdf(tmp_path / "a.pdf")
    result = run("check", art, "--json", "-", "--out", tmp_path / "out")
    assert result.exit_code == ExitCode.CLEAR
    assert json.loads(result.stdout)["schema"] == "prepcheck-report/1"
    assert [path.name for path in (tmp_path / "out").iterdir()] == ["a-proof.pdf"]


def test_the_letter_on_stdout_and_nothing_else_and_as_a_mail(tmp_path: Path) -> None:
    art, mail, out = (
        label_pdf(tmp_path / "a.pdf", bleed=0.0),
        tmp_path / "to-client.eml",
        tmp_path / "out",
    )
    result = run("check", art, "--letter", "-", "--mail", mail, "--out", out)
    assert result.stdout.startswith("Hello,\n")
    assert result.stdout.splitlines()[-1].startswith("Written with prepcheck")
    message = email.message_from_bytes(mail.read_bytes(), policy=email.policy.default)
    body = message.get_body(("plain",))
    assert body.get_content().replace("\r\n", "\n") == result.stdout
    (proof,) = message.iter_attachments()
    (written,) = out.glob("*-proof.pdf")
    assert proof.get_content() == written.read_bytes()
    assert proof.get_filename() == written.name
    # Another reader opens what is attached, and another program draws it.
    pages = PdfReader(io.BytesIO(proof.get_content()), strict=True).pages
    assert "a.pdf" in pages[0].extract_text()
    assert "Sign-off" in pages[-1].extract_text()
    if shutil.which("pdftoppm"):
        drawn = subprocess.run(
            ["pdftoppm", "-r", "20", "-f", "1", "-l", "1", "-png", "-"],
            input=proof.get_content(), capture_output=True, check=True,
        )  # fmt: skip
        assert sum(map(bool, Image.open(io.BytesIO(drawn.stdout)).convert("L").histogram())) > 20
    again = run("check", art, "--letter", "-", "--mail", mail, "--out", out)
    assert again.exit_code == result.exit_code
    assert run("check", art, "--letter", "-", "--json", "-").exit_code == ExitCode.USAGE


def test_no_letter_or_mail_over_a_file_of_the_clients(tmp_path: Path) -> None:
    art, other = label_pdf(tmp_path / "a.pdf", bleed=0.0), tmp_path / "label-b.pdf"
    other.write_bytes(art.read_bytes())
    for option in ("--letter", "--mail"):
        result = run("check", art, option, other, "--out", tmp_path / "out")
        assert result.exit_code == ExitCode.USAGE
        assert "label-b.pdf: prepcheck did not write this file" in result.stderr
        assert other.read_bytes() == art.read_bytes()


def test_a_folder_tells_what_it_leaves_out(tmp_path: Path) -> None:
    folder = tmp_path / "art"
    folder.mkdir()
    label_pdf(folder / "a.pdf")
    (folder / "notes.txt").write_text("x", encoding="utf-8")
    result = run("check", folder, "--out", tmp_path / "out")
    assert result.exit_code == ExitCode.CLEAR
    assert f"{folder / 'notes.txt'}: left out" in result.stderr


def test_the_piece_cannot_be_told(tmp_path: Path) -> None:
    result = run("check", label_pdf(tmp_path / "a.pdf", 92.0), "--out", tmp_path / "out")
    assert result.exit_code == ExitCode.USAGE
    assert "label-7in and label-7in-large-hole" in result.stderr
    assert not (tmp_path / "out").exists()


def test_faults_of_an_order_are_a_line_each(tmp_path: Path) -> None:
    path = order_toml(tmp_path, '[[part]]\nname="x"\nfile="none.pdf"\nsid="A"\n', head="disc = 2")
    result = run("check", path)
    assert result.exit_code == ExitCode.USAGE
    assert result.stderr.splitlines() == [
        f"prepcheck: {path}: order.disc: unknown key; did you mean 'discs'?",
        f"prepcheck: {path}: part[1].sid: unknown key; did you mean 'side'?",
    ]


def test_an_output_that_cannot_be_written(tmp_path: Path) -> None:
    blocked = tmp_path / "blocked"
    blocked.write_text("x", encoding="utf-8")
    result = run("check", label_pdf(tmp_path / "a.pdf"), "--out", blocked)
    assert result.exit_code == ExitCode.OUTPUT
    assert len(result.stderr.splitlines()) == 2
    assert all("cannot be written" in line for line in result.stderr.splitlines())


def test_an_output_over_an_input_is_refused(tmp_path: Path) -> None:
    art = label_pdf(tmp_path / "a.pdf")
    before = art.read_bytes()
    result = run("check", art, "--proof", art)
    assert result.exit_code == ExitCode.USAGE
    assert "would be overwritten" in result.stderr
    assert art.read_bytes() == before


def test_what_cannot_be_read_stops_and_the_rest_goes_on(tmp_path: Path) -> None:
    path = two_labels(tmp_path)
    (tmp_path / "b.pdf").write_bytes(b"%PDF-1.7 and no more")
    result = run("check", path, "--out", tmp_path / "out")
    assert result.exit_code == ExitCode.STOP
    assert "file.unreadable" in result.stdout
    assert re.search(r"Label A, a\.pdf +CLEAR", result.stdout)


# Specs and explain


def test_specs_are_listed() -> None:
    lines = run("specs").stdout.splitlines()
    named = [line.split()[0] for line in lines if not line.startswith(" ")]
    assert named == list(spec_names())
    assert max(map(len, lines)) <= 80


def test_a_spec_is_printed_so_that_it_loads_again(tmp_path: Path) -> None:
    path = tmp_path / "label-7in.toml"
    path.write_text(run("specs", "label-7in").stdout, encoding="utf-8")
    assert load_spec(path).outline == load_spec("label-7in").outline
    assert '"hole.diameter_mm" = "IEC 98:1987' in path.read_text(encoding="utf-8")
    assert run("specs", path).exit_code == ExitCode.CLEAR


def test_checks_are_listed() -> None:
    text = run("explain").stdout
    for identifier in declarations():
        assert re.search(rf"^{re.escape(identifier)} ", text, re.M)
    assert max(map(len, text.splitlines())) <= 80


def test_every_check_explains_itself() -> None:
    for identifier, declaration in declarations().items():
        result = run("explain", identifier)
        assert result.exit_code == ExitCode.CLEAR
        said = plain(result.stdout)
        for text in (declaration.title, declaration.rationale, declaration.source):
            assert plain(text) in said
        for key in declaration.limits:
            assert key in said
        assert max(map(len, result.stdout.splitlines())) <= 80


def test_limits_are_given_with_their_specs() -> None:
    said = plain(run("explain", "bleed.short").stdout)
    assert "bleed.least_mm = 2 (every spec)" in said


# Exit codes


def subclasses(kind: type[PrepcheckError]) -> list[type[PrepcheckError]]:
    return [kind, *(deeper for sub in kind.__subclasses__() for deeper in subclasses(sub))]


def test_every_error_ends_in_a_code_of_the_table() -> None:
    table = {int(code) for code in re.findall(r"^  (\d+) ", EXIT_CODES, re.M)}
    assert table == set(ExitCode)
    expected = {
        errors.PrepcheckError: ExitCode.USAGE,
        errors.UsageError: ExitCode.USAGE,
        errors.SpecError: ExitCode.USAGE,
        errors.OrderError: ExitCode.USAGE,
        errors.ArtworkError: ExitCode.STOP,
        errors.BookError: ExitCode.USAGE,
        errors.StoppedError: ExitCode.STOP,
        errors.OutputError: ExitCode.OUTPUT,
        errors.ClusterError: ExitCode.CRASHED,
        errors.CrashError: ExitCode.CRASHED,
    }
    for kind in subclasses(PrepcheckError):
        assert kind.exit_code in table
        wanted = ExitCode.STOP if issubclass(kind, ArtworkError) else expected[kind]
        assert kind.exit_code is wanted
        if kind.__module__ == errors.__name__:  # readers of art add kinds of their own
            assert kind.__name__ in (errors.__doc__ or "")


@pytest.mark.parametrize(
    ("parts", "code"),
    [
        ([part("A")], ExitCode.CLEAR),
        ([part("A", NOTE)], ExitCode.CLEAR),
        ([part("A", TURNED)], ExitCode.QUERY),
        ([part("A", TURNED), part("B", SHORT)], ExitCode.STOP),
        ([part("A", crashed=True)], ExitCode.CRASHED),
        ([part("A", SHORT), part("B", crashed=True)], ExitCode.CRASHED),
    ],
)
def test_the_gravest_decides(parts: list[PartResult], code: ExitCode) -> None:
    assert exit_code(order(part("Z"), *parts)) is code


@pytest.mark.parametrize(
    ("each", "code"),
    [
        ([part("A"), part("A", TURNED), part("A")], ExitCode.QUERY),
        ([part("A", SHORT), part("A", TURNED)], ExitCode.STOP),
        ([part("A", crashed=True), part("A", SHORT)], ExitCode.CRASHED),
        ([errors.OutputError("disk full"), part("A", crashed=True)], ExitCode.OUTPUT),
        ([errors.OrderError("no page 3"), part("A", crashed=True)], ExitCode.USAGE),
    ],
)
def test_the_gravest_of_several_orders_decides(
    each: list[PartResult | errors.PrepcheckError],
    code: ExitCode,
    tmp_path: Path,
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    ends = iter(each)

    def ended(*_: object) -> tuple[findings.Result, tuple[str, ...]]:
        end = next(ends)
        if isinstance(end, errors.PrepcheckError):
            raise end
        return order(end), ()

    monkeypatch.setattr("prepcheck.cli.checking._check_one", ended)
    for number in range(len(each)):
        (tmp_path / str(number)).mkdir()
        two_labels(tmp_path / str(number))
    assert run("check", tmp_path, "--out", tmp_path / "out", "--quiet").exit_code == code


def test_a_check_that_crashes_ends_in_five(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    from prepcheck.run import examine
    from tests.run.test_run import stumble_on_a

    crashing = functools.partial(examine.examine, work=stumble_on_a)
    monkeypatch.setattr(examine, "examine", crashing)
    result = run("check", two_labels(tmp_path), "--out", tmp_path / "out")
    assert result.exit_code == ExitCode.CRASHED
    assert "CRASHED" in result.stdout


# As a program of its own


def program(
    *args: object, start_new_session: bool = False, env: dict[str, str] | None = None
) -> subprocess.Popen[str]:
    return subprocess.Popen(
        [sys.executable, "-m", "prepcheck", *map(str, args)],
        stdout=subprocess.PIPE,
        stderr=subprocess.PIPE,
        text=True,
        start_new_session=start_new_session,
        env=env,
    )


def test_importing_and_help_bring_in_nothing_heavy() -> None:
    code = (
        "import sys, prepcheck, prepcheck.cli; from click.testing import CliRunner; "
        "CliRunner().invoke(prepcheck.cli.cli, ['check', '--help']); "
        "heavy = {'numpy', 'pypdf', 'pypdfium2', 'PIL', 'reportlab', 'fontTools'}; "
        "print(sorted(heavy & set(sys.modules)))"
    )
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert done.stdout.strip() == "[]"


def test_who_waits_for_a_worker_leaves_reading_and_checks_to_it() -> None:
    code = (
        "import sys, prepcheck.cli.checking, prepcheck.intake.archives, prepcheck.run.gather, "
        "prepcheck.proof.write, prepcheck.report.console; "
        "heavy = {'pypdf', 'pypdfium2', 'fontTools', 'zxingcpp', 'prepcheck.judging.registry'}; "
        "print(sorted(heavy & set(sys.modules)))"
    )
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert done.stdout.strip() == "[]"


def test_no_progress_and_no_colour_in_a_pipe(tmp_path: Path) -> None:
    with program("check", label_pdf(tmp_path / "a.pdf"), "--out", tmp_path / "out") as process:
        out, err = process.communicate(timeout=60)
    assert process.returncode == ExitCode.CLEAR
    assert err == ""
    assert "\x1b" not in out
    assert "Verdict: CLEAR" in out


def test_a_reader_that_has_seen_enough_changes_nothing(tmp_path: Path) -> None:
    path, out = label_pdf(tmp_path / "a.pdf"), tmp_path / "out"
    command = [sys.executable, "-m", "prepcheck", "check", path, "--out", out]
    with subprocess.Popen(command, stdout=subprocess.PIPE, stderr=subprocess.PIPE) as process:
        assert process.stdout is not None
        process.stdout.close()
        assert process.stderr is not None
        assert process.stderr.read() == b""
    assert process.returncode == ExitCode.CLEAR
    assert (out / "a-proof.pdf").exists()


@pytest.mark.skipif(not Path("/dev/full").exists(), reason="no full device here")
def test_a_full_disk_behind_stdout_is_an_output_that_cannot_be_written() -> None:
    with Path("/dev/full").open("w") as full:
        ended = subprocess.run(
            [sys.executable, "-m", "prepcheck", "specs"],
            stdout=full, stderr=subprocess.PIPE, text=True, check=False,
        )  # fmt: skip
    assert ended.returncode == ExitCode.OUTPUT
    assert "stdout: No space left on device" in ended.stderr


def test_an_interrupt_in_code_run_from_a_string_ends_with_130_too(tmp_path: Path) -> None:
    """As dataclasses run it while modules are imported; CPython would end by the signal, at
    least where a module is run."""
    (tmp_path / "interrupted.py").write_text(
        "import click\n"
        "from prepcheck.cli.terminal import ends_with_exit_code\n"
        "click.command()(ends_with_exit_code(lambda: exec('raise KeyboardInterrupt')))()\n"
    )
    command = [sys.executable, "-m", "interrupted"]
    ended = subprocess.run(command, cwd=tmp_path, capture_output=True, check=False)
    assert ended.returncode == ExitCode.INTERRUPTED, ended.stderr


@pytest.mark.skipif(sys.platform != "linux", reason="elsewhere workers need not be forked")
def test_an_interrupt_ends_with_130_and_leaves_nothing(tmp_path: Path) -> None:
    for name in ("many", "holding"):
        (tmp_path / name).mkdir()
    for number in range(4):
        label_pdf(tmp_path / "many" / f"{number:02}.pdf")
    holding, out = Holding(tmp_path / "holding", f"{tmp_path}/many/"), tmp_path / "out"
    with (
        holding.held(),
        program(
            "check", tmp_path / "many", "--out", out, "--jobs", 2,
            start_new_session=True, env=holding.environment,
        ) as process,
    ):  # fmt: skip
        until = time.monotonic() + 60
        while len(workers := holding.reached()) < 2 and time.monotonic() < until:
            time.sleep(0.02)
        assert len(workers) == 2
        os.kill(process.pid, signal.SIGINT)
        _, err = process.communicate(timeout=60)
    assert process.returncode == ExitCode.INTERRUPTED, err
    assert err == "prepcheck: interrupted\n"
    assert not out.exists()
    assert not any(Path(f"/proc/{pid}").exists() for pid in workers)


def test_severities_in_specs_use_known_checks() -> None:
    for name in spec_names():
        severity: dict[str, Severity] = load_spec(name).severity
        assert severity.keys() <= declarations().keys()


def test_colour_only_at_a_terminal_that_wants_it(monkeypatch: pytest.MonkeyPatch) -> None:
    # https://no-color.org: "when present and not an empty string (regardless of its value)".
    monkeypatch.setattr("sys.stdout.isatty", lambda: True, raising=False)
    for value, wanted in (("", True), ("1", False), ("0", False)):
        monkeypatch.setenv("NO_COLOR", value)
        assert terminal.colour() is wanted


def test_the_width_is_the_terminals(monkeypatch: pytest.MonkeyPatch) -> None:
    for columns, width in (("40", 40), ("300", 100)):
        monkeypatch.setenv("COLUMNS", columns)
        assert terminal.terminal_width() == width
