"""Gathers what a walk finds: what prints apart from what does not, inks, troubles."""

from __future__ import annotations

from dataclasses import dataclass, field

from prepcheck.art.model import Content, ImageItem, Paint, ShadingItem, Sliver
from prepcheck.art.path_table import PathPile
from prepcheck.art.pdf.content.paints import space_inks
from prepcheck.art.type_table import TypePile, TypeTable
from prepcheck.geometry import Box, Quad

MOST_TROUBLES = 20
"""Sentences kept about one page's damage."""


@dataclass(slots=True)
class Pile:
    """Items of one kind of fate, in painting order."""

    images: list[ImageItem] = field(default_factory=list)
    texts: TypePile = field(default_factory=TypePile)
    paths: PathPile = field(default_factory=PathPile)
    shadings: list[ShadingItem] = field(default_factory=list)
    paints: dict[int, Paint] = field(default_factory=dict)
    inks: dict[str, None] = field(default_factory=dict)
    slivers: list[Sliver] = field(default_factory=list)

    def content(self, **more: object) -> Content:
        for paint in self.paints.values():
            for ink, amount in paint.inks:
                if amount > 0:
                    self.inks.setdefault(ink)
        return Content(
            tuple(self.images),
            self.texts.table(),
            self.paths.table(),
            tuple(self.shadings),
            inks=tuple(self.inks),
            slivers=tuple(self.slivers),
            **more,  # type: ignore[arg-type]
        )

    @property
    def empty(self) -> bool:
        return not (self.images or self.texts or self.paths or self.shadings)

    def painted(self, *paints: Paint | None) -> None:
        """Note paints that came to be used; each is one object, so its identity will do."""
        for paint in paints:
            if paint is not None:
                self.paints[id(paint)] = paint

    def add_type(self, table: TypeTable) -> None:
        self.texts.add(table)
        for style in table.used_styles():
            self.painted(style.fill, style.stroke)

    def add_image(self, image: ImageItem) -> None:
        self.images.append(image)
        if image.paint is not None:
            self.painted(image.paint)
        else:
            self.inks.update(dict.fromkeys(space_inks(image.space)))

    def add_all(self, other: Pile) -> None:
        """Add the items of another pile behind the own ones."""
        self.images += other.images
        self.texts.add_all(other.texts)
        self.paths.add_all(other.paths)
        self.shadings += other.shadings
        self.paints.update(other.paints)
        self.inks.update(other.inks)
        self.slivers += other.slivers

    def placed(self, box: Box) -> Pile:
        """Return the same items with `box` as the place of each: a cell repeated all over it."""
        quad = Quad(*box.corners)
        return Pile(
            [item._replace(quad=quad, visible=box) for item in self.images],
            self.texts.all_at(box),
            self.paths.all_at(box),
            [item._replace(box=box) for item in self.shadings],
            self.paints,
            self.inks,
        )


@dataclass(slots=True)
class Findings:
    """The two piles, and what could not be read."""

    shown: Pile = field(default_factory=Pile)
    hidden: Pile = field(default_factory=Pile)
    troubles: dict[str, None] = field(default_factory=dict)

    def trouble(self, sentence: str) -> None:
        """Note what could not be read, each sentence once."""
        if len(self.troubles) < MOST_TROUBLES:
            self.troubles.setdefault(sentence)

    def add(self, other: Findings) -> None:
        """Add what was gathered apart."""
        self.shown.add_all(other.shown)
        self.hidden.add_all(other.hidden)
        for sentence in other.troubles:
            self.trouble(sentence)

    def add_cell(self, cell: Findings, box: Box) -> None:
        """Add what a tiling cell holds, once, with the painted box as its place."""
        self.add(Findings(cell.shown.placed(box), cell.hidden.placed(box), cell.troubles))

    def content(self, declared: tuple[str, ...]) -> Content:
        hidden = None if self.hidden.empty else self.hidden.content()
        return self.shown.content(
            hidden=hidden, declared_inks=declared, troubles=tuple(self.troubles)
        )
