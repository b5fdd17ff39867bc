"""What vetting knows of how words sound: which are in no dictionary, and which names of a job sound too alike.

The pronunciations come from outside (the recogniser's dictionary); nothing here reads a file.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Mapping
from dataclasses import dataclass, field
from typing import Final

from bayvoice.errors import BayError
from bayvoice.language.distance import Costs, distance
from bayvoice.language.phrases import spoken_form
from bayvoice.language.saying import speakable
from bayvoice.procedure.kind import names_of
from bayvoice.procedure.mistakes import quoted
from bayvoice.procedure.model import Group, Procedure
from bayvoice.procedure.remark import Remark
from bayvoice.procedure.spoken import texts

Said = Callable[[Iterable[str]], Mapping[str, str]]
"""Word -> how it is pronounced, "" for a word that is in the dictionary and needs no remark."""
Phones = Callable[[str], tuple[tuple[int, ...], ...]]
"""Word -> its pronunciations, numbers of phones; empty where nobody knows how it is said."""


@dataclass(eq=False)
class Sounds:
    """What the ears know of words, and what was worked out with it: asked again, it is not worked out again.

    Attributes:
        said: how words are pronounced, or None where nothing is known.
        phones: the same as numbers of phones.
        costs: for comparing names; None: they are not compared.
    """

    said: Said | None = None
    phones: Phones | None = None
    costs: Costs | None = None
    _words: dict[str, str] = field(default_factory=dict, repr=False)
    _spelt: dict[str, tuple[int, ...]] = field(default_factory=dict, repr=False)
    _groups: dict[str, tuple[frozenset[str], dict[tuple[str, str], float]]] = field(default_factory=dict, repr=False)

    def unknown(self, procedure: Procedure) -> dict[str, str]:
        """Word -> how it will be said, for each spoken word that is in no dictionary, sorted."""
        words = spoken_words(procedure)
        self._learn(words)
        return {word: self._words[word] for word in sorted(words) if self._words.get(word)}

    def about(self, procedure: Procedure) -> Iterator[Remark]:
        """Names that are heard in the same place and sound too alike."""
        if self.costs is None:
            return
        for what, names in heard_together(procedure).items():
            for (one, other), far in self._near(what, names).items():
                apart = f"({far:.2f} apart, {self.costs.least:.2f} is enough)"
                alike = f"{quoted(other)} sounds much like {quoted(one)} {apart}"
                mend = "rename one of them, longer and with other vowels"
                yield Remark(names[other] or names[one], what, alike, mend)

    def _learn(self, words: Iterable[str]) -> None:
        new = [word for word in dict.fromkeys(words) if word not in self._words]
        if new and self.said is not None:
            self._words.update(self.said(new))

    def _near(self, what: str, names: Mapping[str, str]) -> dict[tuple[str, str], float]:
        """The pairs of `names` that sound too alike; only names that are new since the last time are compared."""
        now = frozenset(names)
        before, near = self._groups.get(what, (frozenset(), {}))
        if now != before:
            self._learn(word for name in names if name not in before for word in words_of(name))
            near = {pair: far for pair, far in near.items() if now.issuperset(pair)}
            done = before & now
            for name in names:
                if name not in done:
                    near.update(self._nearest(name, [other for other in names if other in done]))
                    done |= {name}
            self._groups[what] = (now, near)
        return near

    def _nearest(self, name: str, others: Iterable[str]) -> Iterator[tuple[tuple[str, str], float]]:
        assert self.costs is not None
        said = self._spell(name)
        for other in others:
            heard = self._spell(other)
            if said and heard and name != other:
                long = max(len(said), len(heard))
                far = distance(said, heard, self.costs, self.costs.least * long)
                if far is not None:
                    yield (other, name), far / long

    def _spell(self, name: str) -> tuple[int, ...]:
        """The phones of a name as it is usually said; empty where it can't be said, which is told elsewhere."""
        if name not in self._spelt:
            try:
                words = [self.phones(word) for word in spoken_form(name, "")] if self.phones else []
            except BayError:
                words = []
            self._spelt[name] = tuple(phone for said in words for phone in said[0]) if all(words) else ()
        return self._spelt[name]


SILENT: Final = Sounds()
"""Knows of no word how it sounds."""


def heard_together(procedure: Procedure) -> Mapping[str, dict[str, str]]:
    """What is named -> (name -> first step that brings it, "" for none): names of one group are heard in one place."""
    groups: dict[str, dict[str, str]] = {"name": {}, "things": {}, "finding": {}}
    for at, name in names_of(procedure):
        if name.group is Group.MEASUREMENTS:
            groups["name"].setdefault(name.text.lower(), procedure.steps[at].id)
        elif name.group is Group.THINGS:
            groups["things"][name.text.lower()] = ""
    groups["finding"] = {finding.say.lower(): "" for finding in procedure.findings}
    return groups


def spoken_words(procedure: Procedure) -> dict[str, None]:
    """Every word the product says or hears of the procedure's own, lower case, in order of first use."""
    words: dict[str, None] = {}
    for caution in procedure.cautions:
        words.update(dict.fromkeys(words_of(caution.text)))
    for step in procedure.steps:
        for _, text in texts(procedure, step):
            words.update(dict.fromkeys(words_of(text)))
    for names in heard_together(procedure).values():
        for name in names:
            words.update(dict.fromkeys(words_of(name)))
    return words


def words_of(text: str) -> list[str]:
    """The words of a text as it is said, lower case."""
    plain = "".join(c if c.isalpha() or c in " -'" else " " for c in speakable(text).lower().replace("’", "'"))
    return [word.strip("-'") for word in plain.split() if len(word.strip("-'")) > 1]
