"""Numbers on a template: to a hundredth, since it is drawn by them."""


def number(value: float) -> str:
    """Return a number as it is worded: '100', '7.24'."""
    return f"{round(value, 2) + 0.0:g}"


def mm(value: float) -> str:
    """Return a length with its unit: '7.24 mm'."""
    return f"{number(value)} mm"
