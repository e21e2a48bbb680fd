"""More invented deliveries, each with several things wrong at once, and all kinds in a list."""

from __future__ import annotations

import random
from collections.abc import Iterator

from tests.book.invented import (
    ASK,
    SPARE,
    Delivery,
    Sent,
    helpful,
    job,
    labels_in_one,
    nameless,
    names_absent,
    names_help,
    names_mislead,
    no_order_named,
    nothing_tells,
    others_file,
    paper,
    parts_missing,
    piece,
    quiet_second_round,
    second_round,
    sides_swapped,
    spare_files,
    two_orders,
    two_versions,
    unlike,
    whole,
)


def all_at_odds(rng: random.Random) -> Delivery:
    """Two labels exchanged under the order's names, a third and the jacket under names that say
    something else, and spare files among them."""
    one = job(rng, sides="ABCD", files=True)
    ordered = {part.name: str(part.file) for part in one.order.parts}
    a, b, c, d = rng.sample([part.name for part in one.order.parts if part.side is not None], 4)
    ordered[a], ordered[b] = ordered[b], ordered[a]
    ordered[c] = helpful(one, d, rng)
    ordered[d] = nameless(rng)
    ordered["Jacket"] = "label back final.pdf"
    files = whole(one, lambda name: ordered[name])
    head = one.order.head
    files.append(
        Sent("side A notes.pdf", paper([head.title, "Side A", *one.titles.values()]), SPARE)
    )
    files.append(Sent("label sticker.pdf", piece("sticker-round-50mm", [[head.title]], rng), SPARE))
    rng.shuffle(files)
    return Delivery("exchanged, misnamed, spare at once", (one.order,), one.number,
                    unlike(files))  # fmt: skip


def two_orders_in_folders(rng: random.Random) -> Delivery:
    """Two orders in one folder, each in one of its own that is named after it; the names of their
    files are the same, and the type is outlined."""
    one, other = job(rng, sides="AB"), job(rng, sides="AB")
    if one.order.head.catalogue == other.order.head.catalogue or one.number == other.number:
        return Delivery("", (), None, ())
    files: list[Sent] = []
    for each in (one, other):
        folder = rng.choice((each.order.head.catalogue, f"art {each.number}", each.number))
        names = {"Label A": "Side A.pdf", "Label B": "Side B.pdf", "Jacket": "sleeve.pdf"}
        files += [
            Sent(f"{folder}/{file}", each.art(name, quiet=True), name, each.number)
            for name, file in names.items()
        ]
    return Delivery("two orders, a folder each", (one.order, other.order), None, unlike(files))


def sleeve_among_labels(rng: random.Random) -> Delivery:
    """The labels of both discs in one PDF, a page each, and the sleeve beside, whose type names all
    sides."""
    one = job(rng, sides="ABCD")
    labels = [part.name for part in one.order.parts if part.side is not None]
    rng.shuffle(labels)
    spec = one.part(labels[0]).spec
    assert spec is not None
    tracks = [f"Side {side}: {title}" for side, title in one.titles.items()]
    jacket = piece(str(one.part("Jacket").spec), [[*one.lines["Jacket"], *tracks]], rng)
    sent = [
        Sent(rng.choice(("2LP labels.pdf", "Disc 1+2.pdf", nameless(rng))),
             piece(spec, [one.lines[name] for name in labels], rng), tuple(labels)),
        Sent(rng.choice(("Side A-D sleeve.pdf", "cover.pdf", nameless(rng))), jacket, "Jacket"),
    ]  # fmt: skip
    return Delivery("labels of two discs in one, sleeve beside", (one.order,), one.number,
                    unlike(sent))  # fmt: skip


def a_disc_a_file(rng: random.Random) -> Delivery:
    """The labels of each disc in a PDF of its own, named after the disc; the type is outlined."""
    one = job(rng, sides="ABCD")
    spec = one.part("Label A").spec
    assert spec is not None
    sent = [
        Sent(f"{word} {number}.pdf", piece(spec, [[one.titles[side]] for side in pair], rng),
             tuple(f"Label {side}" for side in pair))
        for word in [rng.choice(("Disc", "LP", "labels disc"))]
        for number, pair in ((1, "AB"), (2, "CD"))
    ]  # fmt: skip
    sent.append(Sent(nameless(rng), one.art("Jacket"), "Jacket"))
    return Delivery("a PDF for each disc", (one.order,), one.number, unlike(sent))


def third_round(rng: random.Random) -> Delivery:
    """A label that came again in round 2 under another name comes a third time, under that name,
    beside a part that was right from the first."""
    one = job(rng)
    first = whole(one, lambda name: helpful(one, name, rng))
    label = rng.choice([part.name for part in one.order.parts if part.side is not None])
    name = f"corrected {rng.randrange(10, 99)}.pdf"
    second = [Sent(name, one.art(label, more=("second",)), label)]
    third = [Sent(name, one.art(label, more=("third",)), label)]
    same = next(sent for sent in first if sent.truth == "Jacket")
    third.append(Sent(rng.choice((same.name, nameless(rng))), same.data, "Jacket"))
    return Delivery("round 3, a name of round 2", (one.order,), one.number, unlike(third),
                    (unlike(first), tuple(second)))  # fmt: skip


def clear_part_again(rng: random.Random) -> Delivery:
    """The last label comes, and with it another version of one that has been there for long."""
    one = job(rng)
    labels = [part.name for part in one.order.parts if part.side is not None]
    late, again = labels[-1], labels[0]
    first = [
        sent for sent in whole(one, lambda name: helpful(one, name, rng)) if sent.truth != late
    ]
    now = [
        Sent(nameless(rng), one.art(late), late),
        Sent(rng.choice(("NEW.pdf", "please use this one.pdf", nameless(rng))),
             one.art(again, more=("new credits",)), again),
    ]  # fmt: skip
    rng.shuffle(now)
    return Delivery("a clear part comes again", (one.order,), one.number, unlike(now),
                    (unlike(first),))  # fmt: skip


_SCRIPTS = (
    ("Сторона А.pdf", "Сторона Б.pdf", "Конверт.pdf"),
    ("A面.pdf", "B面.pdf", "ジャケット.pdf"),
    ("ラベル　Ａ.pdf", "ラベル　Ｂ.pdf", "スリーブ.pdf"),
    ("Πλευρά Α.pdf", "Πλευρά Β.pdf", "Εξώφυλλο.pdf"),
    ("LP1_strona_A_krzywe.pdf", "LP1_strona_B_krzywe.pdf", "okładka.pdf"),
    ("cara a (trazado).pdf", "cara b (trazado).pdf", "funda.pdf"),
    ("Strana 1.pdf", "Strana 2.pdf", "Obal.pdf"),
    ("Этикетка сторона 1.pdf", "Этикетка сторона 2.pdf", "Обложка.pdf"),
)


def other_scripts(rng: random.Random) -> Delivery:
    """Outlined type under names in other languages and scripts."""
    one = job(rng, sides="AB", files=False)
    names = dict(zip(("Label A", "Label B", "Jacket"), rng.choice(_SCRIPTS), strict=True))
    files = [Sent(file, one.art(name, quiet=True), name) for name, file in names.items()]
    rng.shuffle(files)
    return Delivery("names in other scripts", (one.order,), one.number, unlike(files))


def words_of_one_letter(rng: random.Random) -> Delivery:
    """Outlined labels whose names hold a letter that is a word, and names no side."""
    one = job(rng, sides="AB", files=False)
    name = rng.choice(("What a Night.pdf", "pronto para a grafica.pdf", "Etykieta a druk.pdf"))
    return Delivery("a letter that is a word", (one.order,), one.number,
                    (Sent(name, one.art("Label B", quiet=True), ASK),))  # fmt: skip


KINDS = (
    names_help, names_absent, names_mislead, sides_swapped, parts_missing, spare_files,
    labels_in_one, second_round, quiet_second_round, others_file, no_order_named, two_orders,
    nothing_tells, two_versions, all_at_odds, two_orders_in_folders, sleeve_among_labels,
    a_disc_a_file, third_round, clear_part_again, other_scripts, words_of_one_letter,
)  # fmt: skip


def deliveries(each: int, seed: int = 1) -> Iterator[Delivery]:
    """Yield so many deliveries of each kind."""
    for kind in KINDS:
        made, number = 0, 0
        while made < each:
            number += 1
            found = kind(random.Random(f"{seed} {kind.__name__} {number}"))
            if found.files:
                made += 1
                yield found
