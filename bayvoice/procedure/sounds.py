"""What vetting knows of how words sound: which are in no dictionary, and which names of a job sound too alike.

The pronunciations come from outside (the recogniser's dictionary); nothing here reads a file.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass, field
from itertools import combinations
from typing import Final

from bayvoice.errors import BayError
from bayvoice.procedure.mistakes import quoted
from bayvoice.procedure.model import Measure, Procedure
from bayvoice.procedure.remark import Remark
from bayvoice.procedure.spoken import texts
from bayvoice.speech.phrases import spoken_form
from bayvoice.speech.saying import speakable

Apart = Callable[[tuple[str, ...], tuple[str, ...]], float]
"""How far apart two phrases (words) sound, 0 for the same."""


@dataclass(eq=False)
class Sounds:
    """What the ears know of words, and what was worked out with it: asked again, it is not worked out again.

    Attributes:
        said: word -> how it is pronounced, "" where it is in the dictionary and needs no word about it.
        apart: distance of two phrases in sound, or None where nothing is known.
        least: `apart` of two phrases that are told apart well enough.
    """

    said: Callable[[str], str] | None = None
    apart: Apart | None = None
    least: float = 0.0
    _near: dict[tuple[str, str], float] = field(default_factory=dict, repr=False)
    _words: dict[str, str] = field(default_factory=dict, repr=False)

    def unknown(self, procedure: Procedure) -> dict[str, str]:
        """Word -> how it will be said, for each spoken word that is in no dictionary, sorted."""
        if self.said is None:
            return {}
        found: dict[str, str] = {}
        for word in spoken_words(procedure):
            if word not in self._words:
                self._words[word] = self.said(word)
            if self._words[word]:
                found[word] = self._words[word]
        return dict(sorted(found.items()))

    def about(self, procedure: Procedure) -> Iterator[Remark]:
        """Names that are heard in the same place and sound too alike."""
        if self.apart is None:
            return
        for what, names in heard_together(procedure).items():
            for (one, step), (other, step_) in combinations(names.items(), 2):
                far = self._distance(one, other)
                if far < self.least:
                    yield Remark(step_ or step, what, f"{quoted(other)} sounds much like {quoted(one)} "
                                 f"({far:.2f} apart, {self.least:.2f} is enough)",
                                 "rename one of them, longer and with other vowels")  # fmt: skip

    def _distance(self, one: str, other: str) -> float:
        key = (one, other) if one < other else (other, one)
        if key not in self._near:
            assert self.apart is not None
            try:
                self._near[key] = self.apart(spoken_form(one, ""), spoken_form(other, ""))
            except BayError:  # a name that cannot be said is told elsewhere
                self._near[key] = float("inf")
        return self._near[key]


SILENT: Final = Sounds()
"""Knows of no word how it sounds."""


def heard_together(procedure: Procedure) -> Mapping[str, dict[str, str]]:
    """What is named -> (name -> first step that brings it, "" for none): names of one group are heard in one place."""
    groups: dict[str, dict[str, str]] = {"name": {}, "things": {}, "finding": {}}
    for step in procedure.steps:
        if isinstance(step.detail, Measure):
            groups["name"].setdefault(step.detail.name.lower(), step.id)
    groups["things"] = {thing.lower(): "" for thing in procedure.things()}
    groups["finding"] = {finding.say.lower(): "" for finding in procedure.findings}
    return groups


def spoken_words(procedure: Procedure) -> dict[str, None]:
    """Every word the product says or hears of the procedure's own, lower case, in order of first use."""
    words: dict[str, None] = {}
    for caution in procedure.cautions:
        words.update(dict.fromkeys(_words_of(caution.text)))
    for step in procedure.steps:
        for _, text in texts(step):
            words.update(dict.fromkeys(_words_of(text)))
    for names in heard_together(procedure).values():
        for name in names:
            words.update(dict.fromkeys(_words_of(name)))
    return words


def _words_of(text: str) -> list[str]:
    plain = "".join(c if c.isalpha() or c in " -'" else " " for c in speakable(text).lower().replace("’", "'"))
    return [word.strip("-'") for word in plain.split() if len(word.strip("-'")) > 1]
