"""What is examined when an order, files or a folder are named."""

import os
import shutil
from pathlib import Path

import pytest

from prepcheck.errors import OrderError, SpecError, UsageError
from prepcheck.run.examine import inspect
from prepcheck.run.gather import gather
from prepcheck.run.output_names import slug
from tests.run.art import label_pdf, order_toml, tiff, two_labels


def test_an_order_is_a_batch(tmp_path: Path) -> None:
    path = two_labels(tmp_path)
    (batch,) = gather([path]).batches
    assert batch.stem == "P-0417"
    assert [task.name for task in batch.tasks] == ["Label A", "Label B"]
    assert set(batch.inputs) == {path, tmp_path / "a.pdf", tmp_path / "b.pdf"}
    assert batch.facts is not None
    assert (batch.facts.client, batch.facts.file) == ("Fernweh Tapes", "order.toml")


def test_files_named_together_are_one_batch(tmp_path: Path) -> None:
    files = [label_pdf(tmp_path / "a.pdf"), tiff(tmp_path / "a.tif", 30, 100)]
    (batch,) = gather([*files, files[0]]).batches
    assert batch.stem == "a-and-1-more"
    assert [task.name for task in batch.tasks] == ["a.pdf", "a.tif"]


def test_parts_of_an_order_by_their_files(tmp_path: Path) -> None:
    path = two_labels(tmp_path)
    (batch,) = gather([tmp_path / "b.pdf"], order_path=path).batches
    assert [task.name for task in batch.tasks] == ["Label B"]
    assert batch.stem == "P-0417-Label-B"
    assert len(gather([], order_path=path).batches[0].tasks) == 2
    other = label_pdf(tmp_path / "c.pdf")
    with pytest.raises(UsageError, match=r"has no part with this file; it names: a\.pdf, b\.pdf"):
        gather([other], order_path=path)


def test_a_folder_with_orders(tmp_path: Path) -> None:
    first = tmp_path / "one"
    second = tmp_path / "two"
    for folder in (first, second):
        folder.mkdir()
        two_labels(folder)
    assert [b.stem for b in gather([first]).batches] == ["P-0417"]
    # Two orders of one number: their outputs must not meet.
    assert [b.stem for b in gather([tmp_path]).batches] == ["one-P-0417", "two-P-0417"]
    files = [first / "order.toml", second / "order.toml"]
    assert [b.stem for b in gather(files).batches] == ["one-P-0417", "two-P-0417"]
    shutil.copy(first / "order.toml", first / "again.toml")
    stems = [b.stem for b in gather([first]).batches]
    assert stems == ["again-one-P-0417", "order-one-P-0417"], "both from one folder"


def test_a_folder_with_art_and_other_things(tmp_path: Path) -> None:
    label_pdf(tmp_path / "a.pdf")
    shutil.copy(tmp_path / "a.pdf", tmp_path / "without-suffix")
    (tmp_path / "notes.txt").write_text("call the client", encoding="utf-8")
    (tmp_path / "spec.toml").write_text('name = "x"\n', encoding="utf-8")
    (tmp_path / ".hidden").write_text("x", encoding="utf-8")
    (tmp_path / "deeper").mkdir()
    gathered = gather([tmp_path])
    (batch,) = gathered.batches
    assert [task.file for task in batch.tasks] == ["a.pdf", "without-suffix"]
    assert [line.partition(": ")[0] for line in gathered.left_out] == [
        str(tmp_path / "notes.txt"),
        str(tmp_path / "spec.toml"),
    ]


def test_nothing_to_check(tmp_path: Path) -> None:
    with pytest.raises(UsageError, match="nothing to check"):
        gather([])
    with pytest.raises(UsageError, match="holds neither an order file nor artwork"):
        gather([tmp_path])
    (tmp_path / "front.pdf").write_bytes(b"%PDF-")
    with pytest.raises(UsageError, match=r"there is no such file; did you mean 'front\.pdf'\?"):
        gather([tmp_path / "frnt.pdf"])


@pytest.mark.skipif(not hasattr(os, "mkfifo"), reason="no pipes in folders here")
def test_pipes_and_broken_links_in_a_folder_are_passed_over(tmp_path: Path) -> None:
    label_pdf(tmp_path / "a.pdf")
    os.mkfifo(tmp_path / "b.pdf")
    os.mkfifo(tmp_path / "order.toml")
    (tmp_path / "c.pdf").symlink_to("gone.pdf")
    (batch,) = gather([tmp_path]).batches
    assert [task.file for task in batch.tasks] == ["a.pdf"]
    with pytest.raises(UsageError, match=r"there is no such file; did you mean 'a\.pdf'"):
        gather([tmp_path / "c.pdf"])


@pytest.mark.skipif(not hasattr(os, "mkfifo"), reason="no pipes in folders here")
def test_a_pipe_named_as_art_is_a_finding(tmp_path: Path) -> None:
    os.mkfifo(tmp_path / "a.pdf")
    (part,) = inspect(tmp_path / "a.pdf", spec="label-12in").parts
    assert "a pipe or a device" in part.findings[0].message
    assert (part.sha256, part.bytes) == ("", 0)


def test_faults_of_all_orders_are_told_together(tmp_path: Path) -> None:
    for name in ("one.toml", "two.toml"):
        order_toml(tmp_path, '[[part]]\nname="x"\nside="Z"\n', name=name)
    with pytest.raises(OrderError) as caught:
        gather([tmp_path])
    assert len(caught.value.lines) == 2


def test_a_spec_beside_the_order(tmp_path: Path) -> None:
    label_pdf(tmp_path / "a.pdf")
    (tmp_path / "own.toml").write_text(
        'name = "own"\ntitle = "Ours"\nextends = "label-12in"\n', encoding="utf-8"
    )
    path = order_toml(tmp_path, '[[part]]\nname="x"\nfile="a.pdf"\nspec="own.toml"\n')
    (batch,) = gather([path]).batches
    assert batch.tasks[0].specs[0].name == "own"
    assert batch.tasks[0].told == "named in the order"
    (batch,) = gather([path], spec="label-10in").batches
    assert batch.tasks[0].specs[0].name == "label-10in"


def test_unknown_specs_in_an_order_name_the_part(tmp_path: Path) -> None:
    label_pdf(tmp_path / "a.pdf")
    path = order_toml(tmp_path, '[[part]]\nname="x"\nfile="a.pdf"\nspec="lable-12in"\n')
    with pytest.raises(SpecError) as caught:
        gather([path])
    (line,) = caught.value.lines
    assert line.startswith(f"{path}: part 'x': there is no spec named 'lable-12in'")


@pytest.mark.parametrize(
    ("text", "stem"),
    [
        ("P-0417", "P-0417"),
        ("2026/04: Harbour", "2026-04-Harbour"),
        ("../../etc", "etc"),
        ("Größe № 7", "Größe-7"),
        ("///", "art"),
        (".", "art"),
        ("レコード", "レコード"),
    ],
)
def test_file_names_from_order_numbers(text: str, stem: str) -> None:
    assert slug(text) == stem


def test_a_spec_is_loaded_once_for_all_parts_and_orders(tmp_path: Path) -> None:
    for name in ("one", "two"):
        (tmp_path / name).mkdir()
        two_labels(tmp_path / name)
    tasks = [task for batch in gather([tmp_path]).batches for task in batch.tasks]
    assert len(tasks) == 4
    assert len({id(spec) for task in tasks for spec in task.specs}) == len(tasks[0].specs) > 1
