"""PDF functions against the formulas of ISO 32000-2, 7.10."""

import math

import numpy as np
import pytest
from pypdf.generic import (
    ArrayObject,
    DecodedStreamObject,
    DictionaryObject,
    FloatObject,
    NameObject,
    NumberObject,
    PdfObject,
)

from prepcheck.art.pdf import calculator as calculator_module
from prepcheck.art.pdf.calculator import FunctionError
from prepcheck.art.pdf.functions import (
    Exponential,
    Function,
    Sampled,
    Stitching,
    read_function,
    unpack_samples,
)


def pdf(value: object) -> object:
    """Return a Python value as a pypdf object: str is a name."""
    match value:
        case PdfObject():
            return value
        case dict():
            return DictionaryObject({NameObject("/" + k): pdf(v) for k, v in value.items()})
        case list() | tuple():
            return ArrayObject([pdf(item) for item in value])
        case str():
            return NameObject("/" + value)
        case int():
            return NumberObject(value)
        case float():
            return FloatObject(value)
    return value


def stream(data: bytes, **entries: object) -> DecodedStreamObject:
    made = DecodedStreamObject()
    made.update(pdf(entries))
    made.set_data(data)
    return made


def exponential(**entries: object) -> object:
    return pdf({"FunctionType": 2, "Domain": [0, 1], "N": 1, **entries})


def calculator(source: str, inputs: int = 1, outputs: int = 1, span: int = 1000) -> object:
    return stream(
        source.encode(),
        FunctionType=4,
        Domain=[-span, span] * inputs,
        Range=[-span, span] * outputs,
    )


def test_exponential_is_c0_plus_x_to_the_n() -> None:
    function = read_function(exponential(C0=[0.1, 1.0], C1=[0.9, 0.0], N=2.5))
    assert function.at(0.3) == pytest.approx((0.1 + 0.3**2.5 * 0.8, 1.0 - 0.3**2.5))
    assert function.at(7.0) == pytest.approx((0.9, 0.0))


def test_stitching_hands_each_part_its_own_domain() -> None:
    function = read_function(
        pdf({
            "FunctionType": 3, "Domain": [0, 1], "Bounds": [0.25], "Encode": [0, 1, 1, 0],
            "Functions": [exponential(C0=[0.0], C1=[1.0]), exponential(C0=[10.0], C1=[20.0])],
        })
    )  # fmt: skip
    assert function.at(0.125) == pytest.approx((0.5,))
    assert function.at(0.25) == pytest.approx((20.0,))
    assert function.at(1.0) == pytest.approx((10.0,))


def test_sampled_interpolates_between_corners() -> None:
    """The first input varies fastest (7.10.2); values worked out by hand."""
    function = read_function(
        stream(
            bytes([0, 255, 51, 102]), FunctionType=0, Domain=[0, 1, 0, 1], Range=[0, 1],
            Size=[2, 2], BitsPerSample=8,
        )
    )  # fmt: skip
    assert function.at(1, 0) == pytest.approx((1.0,))
    assert function.at(0, 1) == pytest.approx((0.2,))
    assert function.at(0.5, 0.5) == pytest.approx(((0 + 1 + 0.2 + 0.4) / 4,))


def test_sampled_honours_encode_and_decode() -> None:
    function = read_function(
        stream(
            bytes([0, 128, 255]), FunctionType=0, Domain=[-1, 1], Range=[0, 10], Size=[3],
            BitsPerSample=8, Encode=[2, 0], Decode=[10, 0],
        )
    )  # fmt: skip
    assert function.at(-1) == pytest.approx((0.0,))
    assert function.at(1) == pytest.approx((10.0,))
    assert function.at(0) == pytest.approx((10 - 10 * 128 / 255,))


@pytest.mark.parametrize("bits", [1, 2, 4, 8, 12, 16, 24, 32])
def test_samples_of_any_width_unpack(bits: int) -> None:
    values = [0, 1, 2**bits - 1, (2**bits - 1) // 3]
    packed = "".join(f"{value:0{bits}b}" for value in values)
    data = int(packed.ljust(-(-len(packed) // 8) * 8, "0"), 2).to_bytes(-(-len(packed) // 8), "big")
    assert np.array_equal(unpack_samples(data, 4, bits), values)


@pytest.mark.parametrize(
    ("program", "value"),
    [
        ("{ 3 4 add sub }", 2.0 - 7), ("{ pop 3 4.5 mul }", 13.5), ("{ pop 7 2 div }", 3.5),
        ("{ pop -7 2 idiv }", -3), ("{ pop -5 3 mod }", -2), ("{ pop -4.5 abs }", 4.5),
        ("{ pop 3.2 ceiling }", 4), ("{ pop -4.8 floor }", -5), ("{ pop -6.5 round }", -6),
        ("{ pop -4.8 truncate }", -4), ("{ pop 9 0.5 exp }", 3), ("{ pop 100 log }", 2),
        ("{ pop 10 ln }", math.log(10)), ("{ pop 4.5 sqrt }", math.sqrt(4.5)),
        ("{ pop 30 sin }", 0.5), ("{ pop 60 cos }", 0.5), ("{ pop 0 1 atan }", 0),
        ("{ pop 1 0 atan }", 90), ("{ pop -100 0 atan }", 270), ("{ pop 4 4 atan }", 45),
        ("{ pop 3.9 cvi }", 3), ("{ pop 52 7 and }", 4), ("{ pop 17 5 or }", 21),
        ("{ pop 7 3 xor }", 4), ("{ pop 52 not }", -53), ("{ pop 7 3 bitshift }", 56),
        ("{ pop 142 -3 bitshift }", 17), ("{ 2 gt { 1 } { 5 } ifelse }", 5),
        ("{ pop 0 true { 9 add } if }", 9), ("{ pop 1 2 3 3 -1 roll 100 mul add add }", 105),
        ("{ pop 1 2 3 3 1 roll 100 mul add add }", 204), ("{ dup mul }", 4),
        ("{ pop 8 9 1 index sub sub }", 7), ("{ pop 3 5 exch sub }", 2),
        ("{ pop 2 3 2 copy mul add add }", 11), ("{ % words\n pop 1 }", 1),
    ],
)  # fmt: skip
def test_calculator_operators(program: str, value: float) -> None:
    """Results as the PostScript Language Reference, third edition, chapter 8 works them."""
    assert read_function(calculator(program)).at(2.0) == pytest.approx((value,))


@pytest.mark.parametrize(
    "program",
    [
        "0 div", "pop 0 ln", "pop -1 sqrt", "pop -2 0.5 exp", "pop 0 -1 exp", "add", "pop pop",
        "pop", "pop exch", "pop if", "if", "{ 1 } ifelse", "pop dup", "5 copy", "-1 copy",
        "9 index", "9 1 roll", "1e99 dup mul dup mul cvi", "1e99 dup mul dup mul 1 roll",
        "pop 7 0 mod", "pop 7 0 idiv", "dup " * 120,
    ],
)  # fmt: skip
def test_a_calculator_that_fails_gives_the_least_of_its_range(program: str) -> None:
    """Where PostScript would stop: undefinedresult, rangecheck, stack underflow and overflow."""
    source = f"{{ {program} }}".encode()
    function = read_function(stream(source, FunctionType=4, Domain=[0, 1], Range=[0.25, 1]))
    assert function.at(1.0) == (0.25,)


@pytest.mark.parametrize(
    "program", ["pop 3 " + "dup mul " * 60, "pop 99 99999999 exp", "pop 99999999999999999999 abs"]
)
def test_whole_numbers_beyond_32_bits_are_reals(program: str) -> None:
    """PostScript Language Reference, 3.3.2 and `mul`: what fits no integer becomes a real, so a
    number cannot grow without end."""
    source = f"{{ {program} }}".encode()
    function = read_function(stream(source, FunctionType=4, Domain=[0, 1], Range=[-1, 1]))
    assert function.at(1.0) in ((1.0,), (-1.0,))


def test_a_slip_of_our_own_is_no_damage(monkeypatch: pytest.MonkeyPatch) -> None:
    def slip(value: float) -> float:
        raise TypeError(value)

    monkeypatch.setitem(calculator_module._OPERATORS, "abs", (1, slip))
    function = read_function(calculator("{ abs }"))
    with pytest.raises(TypeError):
        function.at(1.0)


def test_an_array_of_functions_is_joined() -> None:
    function = read_function(pdf([exponential(), exponential(C0=[1.0], C1=[0.0])]))
    assert function.at(0.25) == pytest.approx((0.25, 0.75))
    assert function.over(np.array([[0.0], [1.0]])).tolist() == [[0, 1], [1, 0]]


@pytest.mark.parametrize(
    "damaged",
    [
        pdf({"FunctionType": 2}), pdf({}), pdf([]), pdf({"FunctionType": 9, "Domain": [0, 1]}),
        calculator("{ 1 2"), calculator("1"), calculator("{ frobnicate }"),
        stream(b"", FunctionType=0, Domain=[0, 1], Range=[0, 1], Size=[9], BitsPerSample=8),
        stream(b"", FunctionType=0, Domain=[0, 1] * 9, Range=[0, 1], Size=[99] * 9,
               BitsPerSample=8),
        None, 7,
    ],
)  # fmt: skip
def test_damage_is_a_function_error(damaged: object) -> None:
    with pytest.raises(FunctionError):
        read_function(damaged)


def test_a_circle_is_a_function_error() -> None:
    loop = DictionaryObject()
    loop.update(
        pdf({"FunctionType": 3, "Domain": [0, 1], "Bounds": [], "Encode": [0, 1]})  # type: ignore[arg-type]
    )
    loop[NameObject("/Functions")] = ArrayObject([loop])
    with pytest.raises(FunctionError):
        read_function(loop)


RAMP = Exponential(((0.0, 1.0),), ((0.0, 0.6),) * 2, (0.0, 0.9), (0.8, 0.1), 1.0)
BENT = Exponential(((0.0, 1.0),), (), (0.0, 0.9), (0.8, 0.1), 2.2)
TABLE = Sampled(
    ((0.0, 1.0),), ((0.0, 1.0),) * 2, np.array([[0.0, 1.0], [0.7, 0.2], [0.4, 0.9]]), ((0.0, 2.0),)
)


@pytest.mark.parametrize(
    "function",
    [
        RAMP,
        BENT,
        TABLE,
        Stitching(((0.0, 1.0),), (), (RAMP, TABLE, BENT), (0.25, 0.7), ((0, 1), (1, 0), (0.2, 1))),
        Stitching(((0.0, 1.0),), (), (RAMP, BENT), (0.0,), ((0, 1), (1, 0))),
    ],
    ids=lambda function: type(function).__name__,
)
def test_many_places_at_once_have_the_values_of_each(function: Function) -> None:
    places = [-0.5, 0.0, 0.1, 0.25, 0.3, 0.5, 0.69, 0.7, 0.75, 1.0, 1.5]
    found = function.over(np.array(places)[:, None])
    assert found == pytest.approx(np.array([function.at(place) for place in places]))
