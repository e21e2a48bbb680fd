"""What workers are asked to do, without what it takes: that is imported in the worker."""

from prepcheck.run.answer import Answer, Task


def examine_part(task: Task) -> Answer:
    """Examine one part; see `part.examine_part`."""
    from prepcheck.run import part

    return part.examine_part(task)
