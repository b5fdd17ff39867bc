"""What a voice is given, so that figures, units and part names are said as a technician says them.

A voice left to itself says "thirty-two N m" or spells what is a word. `speakable` writes everything out in words;
what it writes has no figures left and is its own `speakable`. Spellings of letters are those that sound like the
letter's name in espeak-ng; how values are worded follows common practice, no source.
"""

from __future__ import annotations

import re
import unicodedata
from decimal import Decimal
from typing import Final

from bayvoice.language.numbers import DIGITS, to_words
from bayvoice.language.units import ALIASES, UNITS, spoken

_LETTERS: Final = {
    "a": "eh",
    "b": "bee",
    "c": "see",
    "d": "dee",
    "e": "ee",
    "f": "ef",
    "g": "jee",
    "h": "aitch",
    "i": "eye",
    "j": "jay",
    "k": "kay",
    "l": "ell",
    "m": "em",
    "n": "en",
    "o": "oh",
    "p": "pee",
    "q": "cue",
    "r": "ar",
    "s": "ess",
    "t": "tee",
    "u": "yew",
    "v": "vee",
    "w": "double-u",
    "x": "ex",
    "y": "why",
    "z": "zed",
}

# Units technicians write that the product does not measure in: symbol -> (singular, plural).
_FURTHER: Final = {
    "Pa": ("pascal", "pascals"),
    "km": ("kilometre", "kilometres"),
    "l/min": ("litre a minute", "litres a minute"),
    "mm/s": ("millimetre a second", "millimetres a second"),
    "mm²": ("square millimetre", "square millimetres"),
    "cm³": ("cubic centimetre", "cubic centimetres"),
    "kV": ("kilovolt", "kilovolts"),
    "VDC": ("volt dee see", "volts dee see"),
    "VAC": ("volt eh see", "volts eh see"),
    "Ah": ("amp hour", "amp hours"),
    "mΩ": ("milliohm", "milliohms"),
    "W": ("watt", "watts"),
    "kW": ("kilowatt", "kilowatts"),
    "Hz": ("hertz", "hertz"),
    "kHz": ("kilohertz", "kilohertz"),
    "dB": ("decibel", "decibels"),
    "ms": ("millisecond", "milliseconds"),
    "t": ("tonne", "tonnes"),
    "oz": ("ounce", "ounces"),
    "d": ("day", "days"),
}

_SYMBOLS: Final[dict[str, tuple[str, str]]] = {
    **_FURTHER,
    **{symbol: (spoken(code, False), spoken(code)) for symbol, code in ALIASES.items()},
    **{symbol: (spoken(u.code, False), spoken(u.code)) for u in UNITS.values() for symbol in (u.code, u.symbol)},
}
for _word in ("turn", "turns"):  # words of their own: "at step 2 turn the crank"
    del _SYMBOLS[_word]

# In front of these a unit is part of a name and stays singular: "a thirteen millimetre socket".
_NAMED: Final = (
    "socket|spanner|wrench|drive|bolt|nut|hex|key|bit|drill|bead|hose|pipe|punch|drift|feeler|gauge|stud|screw|hole|"
    "plate|dowel|wait|supply|battery|shim|fuse|lamp|tube|rod|washer|extension|deep socket|allen|pin|blade|strip|timer"
)

_ABBREVIATIONS: Final = {
    r"approx\.?": "approximately",
    r"e\.g\.": "for example",
    r"i\.e\.": "that is",
    r"etc\.": "and so on",
    r"max\.?": "maximum",
    r"qty\.?": "quantity",
    r"assy\.?": "assembly",
    r"incl\.?": "including",
    r"dia\.?": "diameter",
    r"temp\.?": "temperature",
    r"vs\.?": "versus",
    r"LH": "left hand",
    r"RH": "right hand",
    r"w/o": "without",
}

# Written in capitals for weight, not to be spelled.
_LOUD: Final = frozenset(
    {
        "DO",
        "NOT",
        "NO",
        "ON",
        "OFF",
        "STOP",
        "ALL",
        "MUST",
        "AND",
        "OR",
        "IF",
        "ONLY",
        "OPEN",
        "UP",
        "DOWN",
        "LEFT",
        "IN",
        "OUT",
        "TOP",
        "END",
        "NEW",
        "OLD",
        "SIDE",
        "BACK",
        "GO",
        "YES",
        "THE",
        "TO",
        "BE",
        "AT",
        "BY",
        "OF",
        "FOR",
        "KEEP",
        "HOT",
        "COLD",
        "WET",
        "DRY",
        "OIL",
        "NUT",
        "BOLT",
        "STEP",
        "NOTE",
        "READ",
        "LOCK",
        "PUSH",
        "PULL",
        "FULL",
        "LOW",
        "HIGH",
        "SET",
        "FIT",
        "BOTH",
        "ONE",
        "TWO",
        "IS",
        "IT",
        "ARE",
        "WITH",
        "WAIT",
        "FIRE",
        "ACID",
        "GAS",
        "RAG",
    }
)

_ORDINALS: Final = {
    "one": "first",
    "two": "second",
    "three": "third",
    "five": "fifth",
    "eight": "eighth",
    "nine": "ninth",
    "twelve": "twelfth",
}

_NUM: Final = r"(?:\d{1,3}(?:,\d{3})+(?!\d)|\d+)(?:\.\d+)?|(?<!\d)\.\d+"
_VAL: Final = rf"(?:(?:\d+ )?\d+/\d+(?![\d/])|{_NUM})"
_UNIT: Final = "|".join(re.escape(symbol) for symbol in sorted(_SYMBOLS, key=len, reverse=True) if symbol != "in")
_INCH: Final = (
    r"in(?=\s*(?:[.,;:)!?]|$)|\s(?:long|wide|deep|high|thick|diameter|" + _NAMED + r")s?\b)"
    r"|\"|″|inch(?:es)?\b"
)
_SIGN: Final = r"(?:[+±-]\s?)"
_LINK: Final = r"\s?(?:±|-)\s?"
_QUANTITY: Final = re.compile(
    rf"(?<![\w.,/\"-])(?P<sign>{_SIGN})?(?P<a>{_VAL})(?:(?:\s?(?:{_UNIT}))?(?P<link>{_LINK})(?P<b>{_VAL}))?"
    rf"(?P<gap>[\s-]?)(?:(?P<unit>{_UNIT})(?![\w·⋅/]|-\d)|(?P<inch>{_INCH}))"
)
_BARE: Final = re.compile(rf"(?<![\w.])(?P<sign>{_SIGN})?(?P<a>{_VAL})(?:(?P<link>{_LINK})(?P<b>{_VAL}))?(?![\w]|-\d)")
_CODE: Final = re.compile(
    r"(?<![\w.])(?=[A-Za-z0-9./-]*\d)(?=[A-Za-z0-9./-]*[A-Za-z])[A-Za-z0-9]+(?:[-./][A-Za-z0-9]+)*"
)
_DASHED: Final = re.compile(r"(?<![\w.-])\d+(?:-\d+)+(?![\w-])")
_DOTTED: Final = re.compile(r"(?<![\w.])\d+(?:\.\d+){2,}(?!\w)")
_PLAIN_WORDS: Final = frozenset({"Nm", "mm", "um", "kPa", "MPa", "rpm", "psi", "kg", "ml", "degC", "kN", "km", "cm"})
_STAND_ALONE: Final = re.compile(
    "(?<!\\w)("
    + "|".join(
        re.escape(symbol)
        for symbol in sorted(_SYMBOLS, key=len, reverse=True)
        if symbol in _PLAIN_WORDS or symbol in "%°Ω" or (len(symbol) > 1 and not symbol.isalpha())
    )
    + ")(?!\\w)"
)


def spell(text: str) -> str:
    """The letters a-z and figures of `text` one by one: ``spell("VT-20")`` -> "vee tee two zero"."""
    named = (_LETTERS.get(c) or (DIGITS[int(c)] if c in "0123456789" else "") for c in text.lower())
    return " ".join(filter(None, named))


def _number(text: str) -> str:
    """Words for figures such as "1,200.50"; figure by figure where too long for a number or with a leading zero."""
    plain = text.replace(",", "")
    whole, _, part = plain.partition(".")
    if len(whole) > 6 or (len(whole) > 1 and whole.startswith("0")):
        return spell(whole) + (f" point {spell(part)}" if part else "")
    return to_words(Decimal(plain if whole else f"0{plain}"))


def _fraction(over: int, below: int) -> str:
    if below == 2:
        name = "half" if over == 1 else "halves"
    elif below == 4:
        name = "quarter" if over == 1 else "quarters"
    else:
        name = _ordinal(below) + ("" if over == 1 else "s")
    return f"{to_words(Decimal(over))} {name}"


def _ordinal(number: int) -> str:
    *head, last = to_words(Decimal(number)).split()
    tail = _ORDINALS.get(last) or (last[:-1] + "ieth" if last.endswith("y") else last + "th")
    return " ".join([*head, tail])


def _value(text: str) -> tuple[str, bool]:
    """Words for a number or fraction, and whether a unit after it is singular."""
    if "/" not in text:
        return _number(text), text.replace(",", "") == "1"
    whole, _, rest = text.rpartition(" ")
    over, below = (int(part) for part in rest.split("/"))
    if below not in {2, 3, 4, 5, 6, 8, 10, 16, 32, 64} or over >= below or not over:
        head = f"{_number(whole)} " if whole else ""
        return f"{head}{_number(str(over))} over {_number(str(below))}", False
    part = _fraction(over, below)
    if not whole:
        return part, True
    if below in {2, 4} and over == 1:
        part = part.replace("one", "a")
    return f"{_number(whole)} and {part}", False


def _signed(sign: str | None, words: str) -> str:
    named = {"+": "plus ", "-": "minus ", "±": "plus or minus "}
    return named.get((sign or "").strip(), "") + words


def _linked(found: re.Match[str]) -> tuple[str, bool] | None:
    """Words of one value, or two joined by a dash or plus-minus; None where a dash joins no range."""
    words, singular = _value(found["a"])
    words = _signed(found["sign"], words)
    if found["b"] is None:
        return words, singular
    other, _ = _value(found["b"])
    if "±" in found["link"]:
        return f"{words} plus or minus {other}", False
    return f"{words} to {other}", False


def _say_quantity(found: re.Match[str]) -> str:
    said = _linked(found)
    assert said is not None
    words, singular = said
    symbol = "in" if found["inch"] else found["unit"]
    rest = found.string[found.end() :]
    # A dash or a noun it describes makes the unit part of a name: "5-minute wait", "13 mm socket".
    named = found["gap"] == "-" or re.match(rf"\s(?:{_NAMED})s?\b", rest, re.IGNORECASE) is not None
    one, many = _SYMBOLS[symbol]
    return f" {words} {one if singular or named else many} "


def _say_bare(found: re.Match[str]) -> str:
    if found["b"] and "-" in found["link"] and not _ascends(found["a"], found["b"]):
        return f" {_signed(found['sign'], _value(found['a'])[0])}, {_value(found['b'])[0]} "
    said = _linked(found)
    assert said is not None
    return f" {said[0]} "


def _ascends(a: str, b: str) -> bool:
    if "/" in a or "/" in b:
        return True
    return Decimal(a.replace(",", "")) < Decimal(b.replace(",", ""))


def _say_code(found: re.Match[str]) -> str:
    """A name of letters and figures: "VT-2041", "K40", "10W-40", "bay2"."""
    said: list[str] = []
    runs = re.findall(r"[A-Za-z]+|\d+(?:\.\d+)?", found[0])
    long = any(run.isdigit() and len(run) > 2 for run in runs)
    for run in runs:
        if run.isalpha():
            word = len(run) > 2 and (not run.isupper() or len(run) > 4)
            said.append(run if word else spell(run))
        elif run.isdigit() and (long or run.startswith("0")):
            said.append(spell(run))
        else:
            said.append(_number(run))
    return f" {' '.join(said)} "


def _say_ordinal(found: re.Match[str]) -> str:
    number = int(found[1])
    return _ordinal(number) if number else found[0]


def _say_time(found: re.Match[str]) -> str:
    hour, minute = found[1].lstrip("0") or "0", found[2]
    if minute == "00":
        return f"{_number(hour)} o'clock"
    return f"{_number(hour)} {'oh ' + _number(minute[1]) if minute[0] == '0' else _number(minute)}"


def _say_capitals(found: re.Match[str]) -> str:
    word, plural = found[1], found[2]
    if len(word) == 1:
        if word == "I" or (word == "A" and re.match(r"\s+[a-z]", found.string[found.end() :])):
            return found[0]
    elif word in _LOUD or len(word) > 4:
        return (word + plural).lower()
    return spell(word) + ("'s" if plural else "")


_CHARACTERS: Final = str.maketrans(
    {
        "−": "-",
        "–": "-",
        "‑": "-",
        "—": ", ",
        "×": " x ",
        "µ": "μ",
        "Ω": "Ω",
        "’": "'",
        "‘": "'",
        "“": '"',
        "”": '"',
        "½": " 1/2",
        "¼": " 1/4",
        "¾": " 3/4",
        "⅜": " 3/8",
        "⅝": " 5/8",
        "⅞": " 7/8",
        "⅛": " 1/8",
        "\u00a0": " ",
        "\u202f": " ",
        "\u2009": " ",
        "⌀": " diameter ",
        "Ø": " diameter ",
        "∅": " diameter ",
        "≥": " at least ",
        "≤": " at most ",
        "≈": " about ",
        "~": " about ",
        "&": " and ",
        "=": " equals ",
        "…": ". ",
        "→": ", ",
        "•": ", ",
        "⁄": "/",
    }
)


_KEPT: Final = frozenset("²³½¼¾⅛⅜⅝⅞")


def _prepare(text: str) -> str:
    text = re.sub(r"\d", lambda m: str(int(m[0])), text)  # figures of other scripts
    text = "".join(" " if unicodedata.category(c) in {"No", "Nl"} and c not in _KEPT else c for c in text)
    text = text.replace("N•m", "N·m").translate(_CHARACTERS).replace("+/-", "±")
    for pattern, words in _ABBREVIATIONS.items():
        tail = "" if pattern.endswith(r"\.") else r"(?![\w])"
        text = re.sub(rf"(?<![\w.]){pattern}{tail}", words, text)
    text = re.sub(r"\b(?:No\.|no\.|Nos\.|Nr\.?|#)\s?(?=\d)|#(?=\d)", "number ", text)
    text = re.sub(r"(?<![\w.])min\.?\s(?=[\d.])", "minimum ", text)
    text = re.sub(r"(?<!\w)>\s?(?=\d)", "more than ", text)
    text = re.sub(r"(?<!\w)<\s?(?=\d)", "less than ", text)
    text = re.sub(r"(?<=\d)\s?/\s?(?=[+-]\s?\d)", ", ", text)
    return re.sub(r"\band/or\b", "and or", text)


def speakable(text: str) -> str:
    """`text` in words for a voice; sentences and their stops are kept.

    Examples:
        >>> speakable("Torque to 32.5 N·m, then +60°.")
        'Torque to thirty two point five newton metres, then plus sixty degrees.'
        >>> speakable("Part VT-2041: M8x1.25, 10–15 min.")
        'Part vee tee two zero four one: em eight by one point two five, ten to fifteen minutes.'
    """
    text = _prepare(text)
    text = re.sub(r"(?<![\w.])(\d+)\s*x(?=\s+\D)", r"\1", text)
    text = re.sub(r"(?<![\w.])M(\d+(?:\.\d+)?)(?=\s*x\s*\d|\W|$)", lambda m: f"em {_number(m[1])} ", text)
    text = re.sub(r"(?<=[\w)°])\s*x\s*(?=\.?\d)", " by ", text)
    text = re.sub(r"(?<![\w.:])([01]?\d|2[0-3]):([0-5]\d)(?![\w:])", _say_time, text)
    text = _QUANTITY.sub(_say_quantity, text)
    text = re.sub(r"(?<![\w.])(\d{1,3})(?:st|nd|rd|th)(?!\w)", _say_ordinal, text)
    text = _CODE.sub(_say_code, text)
    text = _DASHED.sub(lambda m: _say_bare(b) if (b := _BARE.fullmatch(m[0])) and _short(m[0]) else spell(m[0]), text)
    text = _DOTTED.sub(lambda m: " point ".join(_number(part) for part in m[0].split(".")), text)
    text = _BARE.sub(_say_bare, text)
    text = _STAND_ALONE.sub(lambda m: f" {_SYMBOLS[m[1]][1]} ", text)
    text = re.sub(r"(?<![\w'])([A-Z]+)(s?)(?![\w'])", _say_capitals, text)
    text = re.sub(r"(?<=\w)/(?=\w)", " or ", text)
    # The voice would rhyme the unit with the old pronoun.
    text = re.sub(r"\bthou\b", "thow", text)
    return _tidy(text)


def _short(dashed: str) -> bool:
    return dashed.count("-") == 1 and all(len(part) < 4 for part in dashed.split("-"))


def _tidy(text: str) -> str:
    """Only words and the marks a voice pauses at."""
    # A figure that no rule has taken is still a figure to the listener.
    text = re.sub(r"\d", lambda m: f" {DIGITS[int(m[0])]} ", text)
    text = re.sub(r"[()\[\]{}]", ", ", text)
    text = re.sub(r"[^\w\s.,;:!?'-]|[_²³]", " ", text)
    text = re.sub(r"(?<!\w)-|-(?!\w)", " ", text)
    text = re.sub(r"[^\S\n]+", " ", text)
    text = re.sub(r"\s+(?=[.,;:!?])", "", text)
    text = re.sub(r"(?:,)+(?=[.,;:!?])", "", text)
    return re.sub(r"^[\s,]+|[\s,]+$", "", text)
