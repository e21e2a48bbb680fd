"""Where a spec's own print condition is looked for."""

from pathlib import Path

from prepcheck.spec.load import load_spec


def test_a_print_condition_of_ones_own_lies_beside_the_spec(tmp_path: Path) -> None:
    path = tmp_path / "house.toml"
    path.write_text(
        'name = "house"\ntitle = "House sticker"\nextends = "sticker-square-50mm"\n'
        'print_condition = "paper.toml"\n[sources]\n"print_condition" = "the plant"\n'
    )
    assert load_spec(path).print_condition == str(tmp_path / "paper.toml")
    assert load_spec("sticker-square-50mm").print_condition == "coated-board"
