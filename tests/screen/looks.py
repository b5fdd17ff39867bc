"""Reading a screen as a person would: its text row by row, and the contrast of every character on it."""

from __future__ import annotations

from collections.abc import Iterator
from functools import lru_cache
from typing import Any

from rich.color import Color, ColorSystem
from rich.color_triplet import ColorTriplet
from textual.app import App
from textual.widget import Widget

SIZES = ((80, 24), (160, 48), (60, 90))
"""Columns and rows: the smallest terminal, a wall terminal, one turned upright."""


def rows(app: App[Any]) -> list[str]:
    """The characters on the screen, row by row."""
    return ["".join(segment.text for segment in strip) for strip in strips(app)]


def text(app: App[Any]) -> str:
    """The characters on the screen with runs of blanks made one, so that a broken line does not matter."""
    return " ".join(" ".join(rows(app)).split())


def text_of(app: App[Any], widget: Widget) -> str:
    """The characters in the rows and columns of `widget`, with runs of blanks made one."""
    region = widget.region
    return " ".join(" ".join(row[region.x : region.right] for row in rows(app)[region.y : region.bottom]).split())


def strips(app: App[Any]) -> list[Any]:
    """What the compositor sends to the terminal for a full redraw."""
    return list(app.screen._compositor.render_strips())


def pairs(app: App[Any]) -> Iterator[tuple[str, ColorTriplet, ColorTriplet]]:
    """(text, its colour, its ground) of everything that has ink, as it is sent to the terminal."""
    for strip in strips(app):
        for segment in strip:
            if not segment.text.strip():
                continue
            style = segment.style
            assert style is not None, f"{segment.text!r} has no style"
            assert style.color is not None, f"{segment.text!r} has no colour"
            assert style.bgcolor is not None, f"{segment.text!r} has no ground"
            ink, ground = style.color.get_truecolor(), style.bgcolor.get_truecolor()
            assert not style.dim, f"{segment.text!r} is dimmed by an unknown amount"
            yield segment.text, *((ground, ink) if style.reverse else (ink, ground))


@lru_cache(maxsize=256)
def in_256(colour: ColorTriplet) -> ColorTriplet:
    """What a terminal with xterm's palette of 256 colours makes of `colour`."""
    return Color.from_triplet(colour).downgrade(ColorSystem.EIGHT_BIT).get_truecolor()


def channel_light(level: int) -> float:
    """Linear light of a sRGB channel of 0 to 255 (IEC 61966-2-1, as WCAG 2 writes it)."""
    part = level / 255
    return part / 12.92 if part <= 0.04045 else float(((part + 0.055) / 1.055) ** 2.4)


def luminance(colour: ColorTriplet) -> float:
    """Relative luminance as WCAG 2 defines it (2.2, "relative luminance"), 0 to 1."""
    red, green, blue = map(channel_light, colour)
    return 0.2126 * red + 0.7152 * green + 0.0722 * blue


def contrast(one: ColorTriplet, other: ColorTriplet) -> float:
    """Contrast ratio as WCAG 2 defines it, 1 to 21."""
    light, dark = sorted((luminance(one), luminance(other)), reverse=True)
    return (light + 0.05) / (dark + 0.05)


def seen(app: App[Any], widget: Widget) -> bool:
    """Whether the whole of `widget` lies on the screen."""
    region = widget.region
    return bool(region.area) and app.screen.region.contains_region(region)
