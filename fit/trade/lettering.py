"""Letters: how much room words take. Knows sizes only, no file format.

The letters are those of Bitstream Vera, which comes with the PDF writer's library. Widths were
read from that font's horizontal metrics, in its units of 2048 to the em; a test compares them
with the font file again.
"""

from __future__ import annotations

import math
import unicodedata
from functools import lru_cache
from typing import Final

UNITS: Final = 2048
"""Units of the font to its em."""

CAP: Final = 1493 / UNITS
"""Height of a capital, in ems (Vera: glyph H)."""

STRETCH: Final = 0.9
"""Letters are drawn this much narrower than the font has them, as drawing-office letters are."""

DESCENT: Final = 0.30
"""How far letters reach below the line, in cap heights (Vera: g, p 426/1493, bold g 442/1493)."""

ASCENT: Final = 1.06
"""How far letters reach above the line, in cap heights (Vera: l, Ø and brackets 1567/1493)."""

ACCENT: Final = 1.28
"""The same for capitals with an accent (Vera bold: Ë 1899/1493)."""

_PLAIN: Final = {
    563: "'",
    569: "ijlìíîïı",
    582: "ł",
    604: "IJÌÍÎÏİ",
    651: " ,.·‘’‚",
    690: "/:;\\|¦",
    721: "f",
    739: "-",
    799: "()[]",
    803: "t",
    819: "‹›",
    821: "!¡²³¹",
    842: "r",
    942: '"',
    965: "ªº",
    1024: "*_`§¨¯°´¸ˆˇ˘˙˚˛˜˝–†‡",
    1061: "“”„",
    1067: "sşš",
    1075: "zž",
    1087: "?¿",
    1126: "cçćč",
    1141: "L",
    1151: "Ł",
    1178: "F",
    1186: "k",
    1206: "π",
    1208: "•",
    1212: "vxyýÿ",
    1235: "P",
    1239: "Þ",
    1251: "TYÝŸ",
    1253: "o«»ðòóôõöø",
    1255: "aàáâãäå",
    1260: "eèéêë",
    1290: "ß",
    1294: "EÈÉÊË",
    1298: "hnuñùúûü",
    1300: "SbdgpqþđğŞŠ",
    1303: "$0123456789{}¢£¤¥µ¶ƒ€",
    1343: "K",
    1401: "AVÀÁÂÃÄÅ",
    1403: "XZŽ",
    1405: "B",
    1423: "R",
    1430: "CÇĆČ",
    1499: "UÙÚÛÜ",
    1532: "NÑ",
    1540: "H",
    1565: "Ω",
    1577: "D",
    1587: "GÐĞ",
    1597: "&",
    1612: "OQÒÓÔÕÖØ",
    1675: "w",
    1716: "#+<=>^~¬±×÷−≈≠≤≥",
    1767: "M",
    1946: "%",
    1985: "¼½¾",
    1995: "mÆ",
    2011: "æ",
    2025: "W",
    2048: "@©®—…™",
    2095: "œ",
    2191: "Œ",
    2748: "‰",
}

_BOLD: Final = {
    627: "'",
    702: "ijlìíîïı",
    713: " ",
    748: "/\\|¦",
    760: "ł",
    762: "IJÌÍÎÏİ",
    778: ",.·‘’‚",
    819: ":;",
    844: "‹›",
    850: "-",
    891: "f",
    897: "²³¹",
    934: "!¡",
    936: "()[]",
    979: "t",
    1010: "r",
    1024: "_`§¨¯°´¸ˆˇ˘˙˚˛˜˝–†‡",
    1067: '"',
    1071: "*",
    1155: "ªº",
    1188: "?¿",
    1192: "zž",
    1214: "cçćč",
    1219: "sşš",
    1303: "¤¶",
    1305: "L",
    1309: "•",
    1315: "Ł",
    1319: "π",
    1321: "x",
    1323: "«»",
    1335: "vyýÿ",
    1346: "“”„",
    1362: "k",
    1382: "aàáâãäå",
    1389: "eèéêë",
    1397: "T",
    1399: "EFÈÉÊË",
    1407: "oðòóôõöø",
    1425: "$0123456789¢£¥ƒ€",
    1458: "hnu{}ñùúûü",
    1466: "bdgpqþđğ",
    1473: "ß",
    1475: "SŞŠ",
    1483: "YÝŸ",
    1485: "ZŽ",
    1501: "P",
    1503: "CÇĆČ",
    1507: "µ",
    1511: "Þ",
    1561: "B",
    1575: "Ω",
    1577: "R",
    1579: "X",
    1585: "AVÀÁÂÃÄÅ",
    1587: "K",
    1663: "UÙÚÛÜ",
    1681: "GĞ",
    1700: "D",
    1714: "HNÑ",
    1716: "#+<=>^~¬±Ð×÷−≈≠≤≥",
    1741: "OQÒÓÔÕÖØ",
    1786: "&",
    1892: "w",
    2038: "M",
    2048: "@©®—…™",
    2052: "%",
    2120: "¼½¾",
    2134: "m",
    2146: "æ",
    2222: "Æ",
    2241: "œ",
    2259: "W",
    2390: "Œ",
    2949: "‰",
}


def _by_letter(table: dict[int, str]) -> dict[str, int]:
    return {letter: width for width, letters in table.items() for letter in letters}


WIDTHS: Final = {False: _by_letter(_PLAIN), True: _by_letter(_BOLD)}
"""Advance widths by letter, in font units: key False plain, True bold."""

_STAND_INS: Final = {"⌀": "Ø", "→": "›", "\u2011": "-", "\u00a0": " ", "\t": " "}


def printable(words: str) -> str:
    """The words with letters the font has: an accent is dropped before a letter becomes '?'."""
    return "".join(_letter(c) for c in words)


def unprintable(words: str) -> str:
    """The letters of some words that would come out as '?', once each."""
    return "".join(dict.fromkeys(c for c in words if c != "?" and _letter(c) == "?"))


def _letter(letter: str) -> str:
    letter = _STAND_INS.get(letter, letter)
    if letter in WIDTHS[False] and letter in WIDTHS[True]:
        return letter
    bare = unicodedata.normalize("NFKD", letter)[:1]
    if bare in WIDTHS[False]:
        return bare
    return "" if unicodedata.combining(letter) else "?"


@lru_cache(maxsize=8192)
def width(words: str, height: float, bold: bool = False) -> float:
    """Width of a line of words whose capitals are ``height`` mm high, mm."""
    table = WIDTHS[bold]
    units = sum(table[c] for c in printable(words))
    return units / UNITS * height / CAP * STRETCH


def ascent(words: str) -> float:
    """How far a line of words reaches above its foot, in cap heights."""
    accented = any(c.isupper() and unicodedata.decomposition(c) for c in printable(words))
    return ACCENT if accented else ASCENT


def text_corners(
    at: tuple[float, float], words: str, height: float, anchor: str, turn: float, bold: bool
) -> tuple[tuple[float, float], ...]:
    """The corners of the letters' room, from lower left counter-clockwise, mm."""
    dx, dy = offset(words, height, anchor, bold)
    x0, x1 = dx, dx + width(words, height, bold)
    y0, y1 = dy - DESCENT * height, dy + ascent(words) * height
    c, s = math.cos(math.radians(turn)), math.sin(math.radians(turn))
    return tuple(
        (at[0] + x * c - y * s, at[1] + x * s + y * c)
        for x, y in ((x0, y0), (x1, y0), (x1, y1), (x0, y1))
    )


def offset(words: str, height: float, anchor: str, bold: bool = False) -> tuple[float, float]:
    """From the anchor to the start of the baseline, before turning, mm."""
    full = width(words, height, bold)
    dx = {"left": 0.0, "right": -full}.get(anchor.rpartition("_")[2], -full / 2)
    first = anchor.partition("_")[0]
    dy = {"lower": 0.0, "upper": -height}.get(first, -height / 2)
    return dx, dy


def wrap(words: str, height: float, room: float, bold: bool = False) -> list[str]:
    """Break words into lines no wider than ``room`` mm; a single longer word stays whole."""
    lines: list[str] = []
    for word in words.split():
        longer = f"{lines[-1]} {word}" if lines else word
        if lines and width(longer, height, bold) <= room:
            lines[-1] = longer
        else:
            lines.append(word)
    return lines


def shorten(words: str, height: float, room: float, bold: bool = False) -> str:
    """The words, cut off with … when they are wider than ``room`` mm."""
    words = printable(words)
    if width(words, height, bold) <= room:
        return words
    while words and width(words + "…", height, bold) > room:
        words = words[:-1]
    return words.rstrip() + "…"
