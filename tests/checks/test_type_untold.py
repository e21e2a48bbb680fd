"""Two letters in outlines are too few to be told from ornaments: their size is not called clear."""

from pathlib import Path

from prepcheck.run.examine import inspect
from tests.outlined import Set, label

CHECK = "text.small"


def test_two_small_outlined_letters_are_told_as_not_judged(tmp_path: Path) -> None:
    art = label(tmp_path / "label.pdf", [Set("AB", 0, 25, pt=3)])
    (part,) = inspect(art, spec="label-12in").parts
    (outcome,) = (one for one in part.outcomes if one.check == CHECK)
    assert (outcome.status.value, outcome.untold) == ("not-applicable", True)
    assert "may be letters" in outcome.why
