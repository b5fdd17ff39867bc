"""The themes. Every pair of text and ground used together has a contrast of at least 7:1 (WCAG 2, level AAA).

Cautions take the colour families ANSI Z535.4 gives to its signal words (red, orange, yellow, blue), dark or light
enough for that contrast. In "clear" every two grounds of different meaning stay apart for eyes that lack one of the
three cones as well: at least 30 in CIE L*a*b* (CIE76), where the other themes have words and symbols only.
"""

from __future__ import annotations

from typing import Final

from textual.theme import Theme

_SIGNALS: Final = {
    "danger-ground": "#9b0f14", "danger-ink": "#ffffff",
    "warning-ground": "#ff8f1f", "warning-ink": "#000000",
    "caution-ground": "#ffd21f", "caution-ink": "#000000",
    "notice-ground": "#0b3f8c", "notice-ink": "#ffffff",
}  # fmt: skip

DARK_VARIABLES: Final = {
    **_SIGNALS,
    "ground": "#0d1114", "ink": "#f3f5f2",
    "raised": "#1b2226", "quiet": "#bcc6c4",
    "ask-ground": "#b9e6d3", "ask-ink": "#06251a",
    "stop-ground": "#ffd5d0", "stop-ink": "#5a000d",
    "hover": "#2b353a",
}  # fmt: skip
LIGHT_VARIABLES: Final = {
    **_SIGNALS,
    "ground": "#f7f5ef", "ink": "#14181a",
    "raised": "#e6e3d8", "quiet": "#3b4345",
    "ask-ground": "#0e4a37", "ask-ink": "#ffffff",
    "stop-ground": "#5c000f", "stop-ink": "#ffffff",
    "hover": "#d5d1c3",
}  # fmt: skip
CLEAR_VARIABLES: Final = {
    **DARK_VARIABLES,
    "danger-ground": "#8e0700", "warning-ground": "#f88503", "caution-ground": "#fbf38d", "notice-ground": "#094596",
    "ask-ground": "#65ccb2", "ask-ink": "#00140d",
    "stop-ground": "#f08ef6", "stop-ink": "#1a001d",
}  # fmt: skip


def _theme(name: str, table: dict[str, str], dark: bool) -> Theme:
    return Theme(
        name=name, primary=table["ask-ground"], foreground=table["ink"], background=table["ground"],
        surface=table["raised"], panel=table["raised"], dark=dark, text_alpha=1.0, variables=table,
    )  # fmt: skip


DARK: Final = _theme("bay-dark", DARK_VARIABLES, True)
LIGHT: Final = _theme("bay-light", LIGHT_VARIABLES, False)
CLEAR: Final = _theme("bay-clear", CLEAR_VARIABLES, True)
THEMES: Final = {"dark": DARK, "light": LIGHT, "clear": CLEAR}
"""What `work --theme` may be, in the order in which the key goes through them."""


def after(name: str) -> str:
    """Name of the Textual theme that follows the one called `name`."""
    names = [theme.name for theme in THEMES.values()]
    return names[(names.index(name) + 1) % len(names)]
