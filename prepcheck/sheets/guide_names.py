"""Spots that are named as lines of a template are: cut, trim, die, crease, fold, safe, bleed,
guide, punch, in the languages in which art arrives.

Words are those of the trade, from memory, in English, German, French, Spanish, Italian, Dutch,
Polish, Czech, Portuguese, Swedish, Danish, Finnish, Russian, Japanese and Chinese.
"""

from __future__ import annotations

import contextlib
import re
import unicodedata

_STEMS = (
    "cutcontour", "cutline", "cutpath", "cutter", "cutmark", "thrucut", "throughcut",
    "kisscut", "diecut", "dieline", "diestrike", "dieboard", "crease", "creasing", "foldline",
    "foldmark", "trimline", "trimbox", "trimmark", "trimsize", "bleedline",
    "bleedbox", "safezone", "safearea", "safeline", "safetymargin", "safetyline", "safetyarea",
    "safetyzone", "guideline", "punchline", "keyline", "perfora", "scoreline",
    "stanz", "stans", "schnittlinie", "schnittkontur", "konturschnitt", "schneid", "beschnitt",
    "anschnitt", "endformat", "rilllinie", "rillinie", "rillung", "rillen", "falz", "faltlinie",
    "hilfslinie", "sicherheitsabstand", "sicherheitszone", "nutlinie", "lochung",
    "bohrung",
    "decoup", "rognage", "traitdecoupe", "rainage", "rainure", "pliure", "pliage", "traitdepli",
    "fondperdu", "zonedesecurite", "tranquille", "gabarit", "emportepiece", "percage", "poincon",
    "troquel", "lineadecorte", "plegado", "pliegue", "hendido", "sangrado",
    "areadeseguridad", "zonasegura", "taladro", "taladrado", "troquelado",
    "fustell", "tagliol", "lineaditaglio", "taglio", "tracciatotaglio", "piega", "piegatura",
    "cordonatur", "abbondanz", "rifilo", "alvivo", "areadisicurezza", "punzonatur", "foratura",
    "snijlijn", "snijvorm", "snijrand", "snijteken", "rillijn", "vouwlijn", "vouwen", "afloop",
    "hulplijn", "veiligheidsmarge", "schoonsnij",
    "wykrojnik", "ciecie", "ciecia", "bigowa", "zagiec", "zagiecie", "falcowa", "lamanie",
    "spadow", "spady", "marginesbezp", "liniapomocnicza", "sztanc",
    "vysek", "raznice", "orezov", "spadavk", "bigovan", "rylovan", "vyseknut",
    "voditko", "bezpecnazona", "planzet",
    "cortevinco", "corteevinco", "linhadecorte",
    "margemdeseguranca", "areasegura", "refile",
    "skarlinje", "skarning", "beskarning", "biglinje", "bigning", "halslag", "viklinje",
    "falslinje",
    "utfall", "hjalplinje", "sakerhetsmarginal", "skaerelinje", "beskaering", "foldelinje",
    "leikkausviiva", "stanssi", "nuuttaus", "taittoviiva",
    "вырубк", "высечк", "линияреза", "резка", "биговк", "фальц", "сгиб", "вылет", "направляющ",
    "抜き型", "抜型", "型抜き", "ダイライン", "トリム", "断裁", "裁ち落とし", "カット", "折り線",
    "折線", "折り", "スジ", "筋入れ", "塗り足し", "ぬりたし", "ガイド", "トンボ", "パンチ",
    "穴あけ", "刀模", "刀线", "刀版", "模切", "压痕", "折线", "出血", "裁切", "参考线",
)  # fmt: skip
"""Parts of names, without blanks and accents, that no ink to print with has."""
_WORDS = frozenset((
    "cut", "cuts", "trim", "die", "dies", "crease", "creases", "fold", "folds", "safe", "safety",
    "bleed", "guide", "guides", "punch", "score", "perf", "template",
    "schnitt", "falte", "rille", "beschnitt", "coupe", "pli", "plis", "rogne", "corte",
    "plegar", "pliegues", "guia", "guias", "seguridad", "sangre", "taglio", "pieghe", "snij",
    "snede", "ril", "vouw", "big", "ciecie", "linia", "spad", "orez", "ryl", "dobra", "dobras",
    "vinco", "skar", "vik", "fals", "bigg", "ohyb", "cutting", "folding", "trimming", "punching",
    "sangria", "faca", "guida", "guide", "reperes", "repere", "noz", "loch", "foro", "fori",
    "furo", "furos", "otwor", "otwory", "dira", "diry", "hal", "gat", "gaten", "orezy", "ohyby",
))  # fmt: skip
"""Whole words that tell where a name has no others than these and those beside."""
_BESIDE = frozenset((
    "line", "lines", "contour", "path", "layer", "mark", "marks", "area", "zone", "box", "edge",
    "margin", "spot", "colour", "color", "ink", "do", "not", "print", "no", "non", "printing",
    "tech", "technical", "mm", "pt", "size", "template", "hole", "outline", "shape", "the", "and",
    "linie", "linien", "kontur", "farbe", "nicht", "drucken", "ligne", "lignes", "trait", "de",
    "du", "la", "le", "et", "linea", "lineas", "di", "e", "y", "lijn", "lijnen", "linii",
    "linha", "linje", "linjer", "cara", "rysu", "tool", "through", "kiss", "half", "mould",
))  # fmt: skip
_LIBRARY = re.compile(r"^(pantone|pms|hks|toyo|dic|focoltone|trumatch|ral|ncs)\b", re.IGNORECASE)


def is_library_ink(name: str) -> bool:
    """Say whether a spot is named as one of a swatch book, such as 'PANTONE 871 C'."""
    return _LIBRARY.match(name.strip()) is not None


def named_as_guide(name: str) -> bool:
    """Say whether a spot is named as the lines of a template are, in any reading of its bytes."""
    return not is_library_ink(name) and any(map(_tells_a_guide, _readings(name)))


def _readings(name: str) -> list[str]:
    """Return a name, and what its bytes say in Windows' Central European and Cyrillic sets: an
    old file does not tell which was meant."""
    read = [name]
    if not name.isascii():
        for charset in ("cp1250", "cp1251"):
            with contextlib.suppress(UnicodeError):
                read.append(name.encode("cp1252").decode(charset))
    return read


def _tells_a_guide(name: str) -> bool:
    words = _words(name)
    whole = "".join(words)
    if any(stem in whole for stem in _STEMS):
        return True
    told = [word for word in words if not word.isdigit()]
    return any(word in _WORDS for word in told) and all(
        word in _WORDS or word in _BESIDE or len(word) == 1 for word in told
    )


def _words(name: str) -> list[str]:
    """Return the words of a name in small letters without accents, parted at capitals too."""
    parted = re.sub(r"(?<=[a-z\d])(?=[A-Z])", " ", name)
    plain = unicodedata.normalize("NFKD", parted.replace("ł", "l").replace("Ł", "L"))
    bare = "".join(c for c in plain if not unicodedata.combining(c) or c in "\u3099\u309a")
    bare = unicodedata.normalize("NFC", bare).casefold()
    return re.findall(r"[^\W\d_]+|\d+", bare)
