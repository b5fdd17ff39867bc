"""The language of a sitting: its sentences, and its grammars with what a job brings into them."""

from __future__ import annotations

from bayvoice.ears.base import Recogniser
from bayvoice.ears.likeness import vet_address
from bayvoice.ears.pronounce import Lexicon
from bayvoice.host.datafiles import read_grammars
from bayvoice.language.address import NO_ADDRESS, Address
from bayvoice.language.grammar import Grammars
from bayvoice.language.wording import Wording
from bayvoice.procedure.fills import fills_of, units_of
from bayvoice.procedure.model import Procedure

LANGUAGE = "en"


def wording(language: str = LANGUAGE) -> Wording:
    """The sentences of a language."""
    return Wording()


def grammars_for(procedure: Procedure | None, people: tuple[str, ...] = ()) -> Grammars:
    """The grammars, with what a procedure and the people of the bay bring into them."""
    return _grammars(procedure, people, NO_ADDRESS)


def _grammars(procedure: Procedure | None, people: tuple[str, ...], address: Address) -> Grammars:
    if procedure is None:
        return Grammars(read_grammars(LANGUAGE), None, address)
    return Grammars(read_grammars(LANGUAGE), fills_of(procedure, people), address, units_of(procedure))


def addressed_grammars(
    procedure: Procedure | None, people: tuple[str, ...], address: Address, lexicon: Lexicon
) -> Grammars:
    """The grammars with their address word. BayError where the word sounds too much like one that is said anyway."""
    plain = grammars_for(procedure, people)
    if not address.heard:
        return plain
    vet_address(address.word, [plain.state(name) for name in plain.states()], lexicon)
    return _grammars(procedure, people, address)


def prepare(recogniser: Recogniser, grammars: Grammars) -> None:
    """Compile every dialogue state before the job begins, so that a change of state costs next to nothing."""
    for name in grammars.states():
        recogniser.use(grammars.state(name))
