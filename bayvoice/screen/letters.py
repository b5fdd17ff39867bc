"""Large letters made of block characters, our own drawing: five columns, seven rows and two below the line.

A glyph is a string of rows, top first, ``#`` for ink; missing rows are empty. Two rows of pixels share one row of
the terminal (half blocks), which makes a pixel about square.
"""

from __future__ import annotations

from functools import lru_cache
from typing import Final

ROWS: Final = 10
"""Rows of pixels of one line of letters, the gap below included (even, so that lines end on whole cells)."""

_DRAWN: Final = r"""
A .###. #...# #...# ##### #...# #...# #...#
B ####. #...# #...# ####. #...# #...# ####.
C .###. #...# #.... #.... #.... #...# .###.
D ####. #...# #...# #...# #...# #...# ####.
E ##### #.... #.... ####. #.... #.... #####
F ##### #.... #.... ####. #.... #.... #....
G .###. #...# #.... #.### #...# #...# .####
H #...# #...# #...# ##### #...# #...# #...#
I ### .#. .#. .#. .#. .#. ###
J ...# ...# ...# ...# ...# #..# .##.
K #...# #..#. #.#.. ##... #.#.. #..#. #...#
L #... #... #... #... #... #... ####
M #...# ##.## #.#.# #.#.# #...# #...# #...#
N #...# ##..# ##..# #.#.# #..## #..## #...#
O .###. #...# #...# #...# #...# #...# .###.
P ####. #...# #...# ####. #.... #.... #....
Q .###. #...# #...# #...# #.#.# #..#. .##.#
R ####. #...# #...# ####. #.#.. #..#. #...#
S .#### #.... #.... .###. ....# ....# ####.
T ##### ..#.. ..#.. ..#.. ..#.. ..#.. ..#..
U #...# #...# #...# #...# #...# #...# .###.
V #...# #...# #...# #...# .#.#. .#.#. ..#..
W #...# #...# #...# #.#.# #.#.# ##.## #...#
X #...# #...# .#.#. ..#.. .#.#. #...# #...#
Y #...# #...# .#.#. ..#.. ..#.. ..#.. ..#..
Z ##### ....# ...#. ..#.. .#... #.... #####
a ..... ..... .###. ....# .#### #...# .####
b #.... #.... ####. #...# #...# #...# ####.
c .... .... .### #... #... #... .###
d ....# ....# .#### #...# #...# #...# .####
e ..... ..... .###. #...# ##### #.... .####
f ..## .#.. #### .#.. .#.. .#.. .#..
g ..... ..... .#### #...# #...# #...# .#### ....# .###.
h #.... #.... ####. #...# #...# #...# #...#
i .#. ... ##. .#. .#. .#. ###
j ..# ... .## ..# ..# ..# ..# ..# ##.
k #... #... #..# #.#. ##.. #.#. #..#
l ##. .#. .#. .#. .#. .#. ###
m ..... ..... ##.#. #.#.# #.#.# #.#.# #.#.#
n ..... ..... ####. #...# #...# #...# #...#
o ..... ..... .###. #...# #...# #...# .###.
p ..... ..... ####. #...# #...# #...# ####. #.... #....
q ..... ..... .#### #...# #...# #...# .#### ....# ....#
r .... .... #.## ##.. #... #... #...
s .... .... .### #... .##. ...# ###.
t .#.. .#.. #### .#.. .#.. .#.. ..##
u ..... ..... #...# #...# #...# #...# .####
v ..... ..... #...# #...# #...# .#.#. ..#..
w ..... ..... #...# #...# #.#.# #.#.# .#.#.
x ..... ..... #...# .#.#. ..#.. .#.#. #...#
y ..... ..... #...# #...# #...# #...# .#### ....# .###.
z .... .... #### ...# .##. #... ####
0 .###. #...# #..## #.#.# ##..# #...# .###.
1 .#. ##. .#. .#. .#. .#. ###
2 .###. #...# ....# ..##. .#... #.... #####
3 ####. ....# ....# .###. ....# ....# ####.
4 ...#. ..##. .#.#. #..#. ##### ...#. ...#.
5 ##### #.... ####. ....# ....# #...# .###.
6 .###. #.... #.... ####. #...# #...# .###.
7 ##### ....# ...#. ...#. ..#.. ..#.. ..#..
8 .###. #...# #...# .###. #...# #...# .###.
9 .###. #...# #...# .#### ....# ....# .###.
. .. .. .. .. .. ## ##
, .. .. .. .. .. .# .# #.
: .. .. ## ## .. ## ##
; .. .. ## ## .. ## .# #.
! # # # # # . #
? .###. #...# ....# ..##. ..#.. ..... ..#..
' # # .
’ .# .# #.
" #.# #.#
- .... .... .... ####
– ..... ..... ..... #####
— ..... ..... ..... #####
+ ..... ..#.. ..#.. ##### ..#.. ..#..
= .... .... #### .... ####
/ ....# ....# ...#. ..#.. .#... #.... #....
( .# #. #. #. #. #. .#
) #. .# .# .# .# .# #.
% ##..# ##..# ...#. ..#.. .#... #..## #..##
& .##.. #..#. #.#.. .#... #.#.# #..#. .##.#
· .. .. .. ## ##
° .#. #.# .#.
µ ..... ..... #...# #...# #...# #..## ###.# #.... #....
Ω .###. #...# #...# #...# .#.#. .#.#. ##.##
× .... .... .... #..# .##. .##. #..#
"""

_SPACE: Final = ("..",)
_GLYPHS: Final[dict[str, tuple[str, ...]]] = {
    " ": _SPACE,
    **{line[0]: tuple(line[2:].split()) for line in _DRAWN.strip().splitlines()},
}
_CELL: Final = {(False, False): " ", (True, False): "▀", (False, True): "▄", (True, True): "█"}


def drawn(text: str) -> bool:
    """Whether every character of `text` has a large letter."""
    return all(char in _GLYPHS for char in text)


def width(text: str) -> int:
    """Columns of pixels of `text` on one line, a column between letters."""
    return max(0, sum(len(_GLYPHS[char][0]) + 1 for char in text) - 1)


def wrapped(text: str, columns: int) -> list[str] | None:
    """`text` broken at spaces so that each line is at most `columns` pixels wide; None where a word is wider."""
    lines: list[str] = []
    for word in text.split():
        if width(word) > columns:
            return None
        if lines and width(f"{lines[-1]} {word}") <= columns:
            lines[-1] += f" {word}"
        else:
            lines.append(word)
    return lines


@lru_cache(maxsize=64)
def large(text: str, columns: int, rows: int) -> tuple[str, ...]:
    """`text` in the largest letters that fit a box of the terminal.

    Args:
        text: what to draw.
        columns, rows: size of the box in character cells.

    Returns:
        Rows of block characters, at most `rows` of at most `columns`; empty where even the smallest do not fit or a
        character has no large letter.
    """
    if not text.strip() or not drawn(text):
        return ()
    for scale in range(max(1, rows * 2 // ROWS), 0, -1):
        lines = wrapped(text, columns // scale)
        # nothing hangs below the last line but the gap, and that may be cut
        if lines and -(-(len(lines) * ROWS - 1) * scale // 2) <= rows:
            return tuple(row for line in lines for row in _cells(_pixels(line, scale)))[:rows]
    return ()


def _pixels(line: str, scale: int) -> list[list[bool]]:
    """Ink of one line of letters, `ROWS` * `scale` rows."""
    ink: list[list[bool]] = []
    for y in range(ROWS):
        row: list[bool] = []
        for at, char in enumerate(line):
            glyph = _GLYPHS[char]
            drawn_row = glyph[y] if y < len(glyph) else "." * len(glyph[0])
            if at:
                row += [False] * scale
            row += [pixel == "#" for pixel in drawn_row for _ in range(scale)]
        ink += [row] * scale
    return ink


def _cells(ink: list[list[bool]]) -> list[str]:
    """Two rows of pixels to one row of half blocks."""
    pairs = zip(ink[::2], ink[1::2], strict=True)
    return ["".join(_CELL[cell] for cell in zip(above, below, strict=True)) for above, below in pairs]
