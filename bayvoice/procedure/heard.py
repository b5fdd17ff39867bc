"""Names the ears must be able to take: each can be said, and none is said like another one beside it.

These are the names that go into the grammars (`bayvoice.procedure.fills`): whatever is refused here would be refused,
or taken for something else, when the job begins.
"""

from __future__ import annotations

from functools import lru_cache
from typing import Final

from bayvoice.errors import BayError
from bayvoice.language.numbers import value_of
from bayvoice.language.phrases import plural, spoken_form
from bayvoice.procedure.kind import names_of
from bayvoice.procedure.mistakes import Notes, quoted
from bayvoice.procedure.model import Group, Procedure
from bayvoice.procedure.most import NAMES
from bayvoice.procedure.places import Path

Words = tuple[str, ...]
Named = tuple[Path, str]

_COUNTED: Final = (Group.THINGS, Group.MEASUREMENTS)
"""Names beside which a number is said."""


def check(notes: Notes, procedure: Procedure, places: tuple[Path, ...]) -> None:
    """Note each name that cannot be said or told from another one. `places`: where in the file each step stands."""
    for what, named in _names(procedure, places).items():
        said: dict[Words, Named] = {}
        for path, name in named:
            try:
                words = _spoken(name)
            except BayError as why:
                notes.add(path, why.what, why.mend)
                continue
            before = said.setdefault(words, (path, name))[1]
            if before.lower() != name.lower():
                notes.add(path, f"{quoted(name)} is said like {quoted(before)}", "give each its own words")
        if len(said) > NAMES:
            notes.add(
                ("finding",) if what == "findings" else ("step",),
                f"the job has {len(said)} {what}, and {NAMES} are as many as can be told apart by ear",
                "split the job into several procedures",
            )
        elif what in _COUNTED:
            _check_beside_numbers(notes, said, what == Group.THINGS)


def _names(procedure: Procedure, places: tuple[Path, ...]) -> dict[str, list[Named]]:
    """What is named -> where and how: names of one group are heard in one place."""
    groups: dict[str, list[Named]] = {}
    for at, name in names_of(procedure):
        groups.setdefault(name.group, []).append(((*places[at], name.key), name.text))
    groups["findings"] = [(("finding", at, "say"), each.say) for at, each in enumerate(procedure.findings)]
    # What has no word in it has been noted when it was read.
    return {what: [one for one in named if any(c.isalnum() for c in one[1])] for what, named in groups.items()}


def _check_beside_numbers(notes: Notes, said: dict[Words, Named], counted: bool) -> None:
    """ "gap two" beside "gap", "two pin plug" beside "pin plug": said with a value or a count they mean two things."""
    for words, (path, name) in said.items():
        for other in _without_number(words, counted):
            if other in said:
                notes.add(
                    path, f"{quoted(name)} is said like {quoted(said[other][1])} and a number", "rename one of the two"
                )
                break
        many = plural(words) if counted else words
        if many != words and many in said:
            path, other_name = said[many]
            notes.add(
                path, f"{quoted(other_name)} is said for more than one {quoted(name)} too", "give each its own words"
            )


@lru_cache(maxsize=4096)
def _spoken(name: str) -> Words:
    """`spoken_form`, worked out once: a file is vetted again after each change. BayError as there."""
    return spoken_form(name, "")


@lru_cache(maxsize=4096)
def _without_number(words: Words, counted: bool) -> tuple[Words, ...]:
    """`words` without the number they end in, and, where they are `counted`, without that they begin with."""
    cuts = range(1, len(words))
    ending = [words[:cut] for cut in cuts if value_of(words[cut:]) is not None]
    return (*ending, *(words[cut:] for cut in cuts if counted and value_of(words[:cut]) is not None))
